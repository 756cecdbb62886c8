"""One message on its way to the broker, and who makes such messages of what the site says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, Protocol

Json = dict[str, Any]
#: How a site leaves: with a goodbye, or because its daemon died.
Leaving = Literal["gone", "lost"]


@dataclass(frozen=True, slots=True)
class Publication:
    """A whole message; ``user`` are its user properties.

    The broker keeps it undelivered for ``expires_s`` seconds at most; an empty payload makes it
    forget what it retained.
    """

    topic: str
    payload: bytes
    qos: int
    retained: bool
    expires_s: int
    user: tuple[tuple[str, str], ...] = ()


class Voice(Protocol):
    """Makes publications of the messages that pages get. Sans-I/O; ``now`` is monotonic seconds."""

    def take(self, message: Json, now: float) -> None:
        """Learn from one message of the stream (docs/stream.md), the first being a snapshot."""

    def begin(self) -> None:
        """A connection was made: nothing that was sent before counts any more."""

    def next(self, now: float) -> Publication | None:
        """What is to be sent next; taken as sent. None: nothing for now."""

    def due_in(self, now: float) -> float:
        """Seconds until :meth:`next` may have something, if no message comes; may be infinity."""

    def last_will(self) -> Publication:
        """What the broker is to say where the connection ends without a farewell."""

    def farewell(self, how: Leaving) -> Publication:
        """The last thing to be said."""

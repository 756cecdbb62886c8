"""What every outlet offers, and what it tells of each call."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from pullcall.events import Call

#: Calls of one moment, most urgent first: sounded as one utterance.
Burst = tuple[Call, ...]


class OutletKind(StrEnum):
    """What an outlet is. Only some kinds make a sound that people at the grill can hear."""

    PHONES = "phones"
    LOUDSPEAKER = "loudspeaker"
    WEBHOOK = "webhook"

    @property
    def sounds(self) -> bool:
        """Whether a call it played was heard, not only delivered."""
        return self is not OutletKind.WEBHOOK


class OutletState(StrEnum):
    """How an outlet is, as people see it."""

    OK = "ok"
    OFF = "off"
    FAILING = "failing"


@dataclass(frozen=True, slots=True)
class OutletStatus:
    """One outlet; ``note`` is one sentence on what to do where it is not ok.

    ``last_played`` is when it last played a call, real monotonic seconds; None: not yet.
    """

    name: str
    kind: OutletKind
    state: OutletState
    note: str = ""
    last_played: float | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """What became of one call on one outlet, ``at`` real monotonic seconds."""

    call: Call
    outlet: str
    played: bool
    at: float
    note: str = ""


#: Where an outlet delivers its reports; returns at once and never raises.
Reports = Callable[[Report], None]


class Outlet(Protocol):
    """One way a call reaches people.

    Every method but :meth:`run` returns at once and never raises. Timeouts are real seconds,
    however fast the cook's own clock runs.
    """

    @property
    def name(self) -> str:
        """What people and reports call it."""

    @property
    def kind(self) -> OutletKind:
        """What it is."""

    async def run(self, report: Reports) -> None:
        """Deliver what is announced until cancelled, reporting each call."""

    def begin_cook(self, steaks: Sequence[str]) -> None:
        """Take the names of the cook's steaks, in the cook's order."""

    def announce(self, burst: Burst) -> None:
        """Take a burst to deliver; a full queue drops by the outlet's own stated rule."""

    def silence(self, call_id: str) -> None:
        """Stop repeating a call's sound: it was answered or has cleared."""

    def status(self) -> OutletStatus:
        """How it is now."""


def texts_of(burst: Burst) -> tuple[str, ...]:
    """The words of a burst in order, each once."""
    return tuple(dict.fromkeys(call.text for call in burst))


def urgency_of(burst: Burst) -> int:
    """The most urgent priority in a burst: 1 (seconds) to 3 (later)."""
    return min(call.priority for call in burst)

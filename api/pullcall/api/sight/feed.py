"""What a page is fed from: a greeting, then lines as they come."""

from __future__ import annotations

from typing import Any, Protocol

from starlette.requests import HTTPConnection

from pullcall.api.visitor import Visitor
from pullcall.log.records import to_line
from pullcall.site.hub import Hub, Listener


class Shown(Protocol):
    """What can be looked at: a cook site, one that a board mirrors, or a board itself."""

    @property
    def hub(self) -> Hub:
        """Its messages."""

    def now(self) -> float:
        """Its clock, seconds."""

    def snapshot(self) -> dict[str, Any]:
        """Everything a page needs to start from, with the hub's epoch and number."""


class Feed(Protocol):
    """One view of the site, for any number of pages."""

    @property
    def epoch(self) -> str:
        """Names the run of numbers that the lines belong to."""

    def now(self) -> float:
        """The cook's clock as this feed shows it, seconds."""

    def snapshot(self) -> dict[str, Any]:
        """Everything a page needs to start from."""

    def greeting(self, epoch: str | None, since: int | None) -> list[str]:
        """Hello, then what was missed after ``since``, or everything."""

    def join(self) -> Listener:
        """A new listener, from now on."""

    def leave(self, listener: Listener) -> None:
        """Forget a listener."""


class FeedsHere(Protocol):
    """The feeds of an application."""

    def shown_to(self, visitor: Visitor, connection: HTTPConnection) -> Feed:
        """What this visitor sees of what the connection asks for."""


class WholeFeed:
    """Everything, at once. ``start`` is the type of the message that has it whole."""

    def __init__(self, site: Shown, start: str = "snapshot") -> None:
        self._site = site
        self._start = start
        self.now = site.now
        self.join = site.hub.join
        self.leave = site.hub.leave

    @property
    def epoch(self) -> str:
        """The hub's own."""
        return self._site.hub.epoch

    def snapshot(self) -> dict[str, Any]:
        """Everything as it is now."""
        return {"type": self._start, **self._site.snapshot()}

    def greeting(self, epoch: str | None, since: int | None) -> list[str]:
        """Hello, then what was missed after ``since``, or everything."""
        hub = self._site.hub
        missed = hub.missed(epoch, since)
        snapshot = self.snapshot()
        rest = [to_line(snapshot)] if missed is None else missed
        return [hello(snapshot, hub.seq, missed is not None), *rest]


def hello(snapshot: dict[str, Any], seq: int, resumed: bool) -> str:
    """The first line of every stream."""
    return to_line(
        {
            "type": "hello",
            "epoch": snapshot["epoch"],
            "seq": seq,
            "t": snapshot["t"],
            "speed": snapshot["speed"],
            "resumed": resumed,
        }
    )

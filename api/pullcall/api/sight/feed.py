"""What a page is fed from: a greeting, then lines as they come."""

from __future__ import annotations

from typing import Any, Protocol

from starlette.requests import HTTPConnection

from pullcall.api.visitor import Visitor
from pullcall.log.records import to_line
from pullcall.site.hub import Follower, Hub, Listener, Page


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

    def snapshot(self) -> str:
        """Everything a page needs to start from, as a message."""

    def greeting(self, epoch: str | None, since: int | None) -> list[str]:
        """Hello, then what was missed after ``since``, or everything."""

    def join(self) -> Listener:
        """A new listener, from now on: for those who act."""

    def follow(self) -> Follower:
        """A new follower, from now on: for those who watch."""

    def leave(self, page: Page) -> None:
        """Forget a page."""


class FeedsHere(Protocol):
    """The feeds of an application."""

    def shown_to(self, visitor: Visitor, connection: HTTPConnection) -> Feed:
        """What this visitor sees of what the connection asks for."""


def hello(epoch: str, seq: int, t: float, speed: float, *, resumed: bool) -> str:
    """The first line of every stream."""
    numbers = {"epoch": epoch, "seq": seq, "t": round(t, 3), "speed": speed}
    return to_line({"type": "hello", **numbers, "resumed": resumed})

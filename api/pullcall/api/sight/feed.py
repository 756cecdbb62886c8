"""What a page is fed from: a greeting, then lines as they come."""

from __future__ import annotations

from typing import Any, Protocol

from pullcall.api.cook_site import CookSite
from pullcall.log.records import to_line
from pullcall.site.hub import Listener


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


class WholeFeed:
    """Everything, at once."""

    def __init__(self, site: CookSite) -> None:
        self._site = site
        self.now = site.now
        self.join = site.hub.join
        self.leave = site.hub.leave

    @property
    def epoch(self) -> str:
        """The hub's own."""
        return self._site.hub.epoch

    def snapshot(self) -> dict[str, Any]:
        """Everything as it is now."""
        return {"type": "snapshot", **self._site.snapshot()}

    def greeting(self, epoch: str | None, since: int | None) -> list[str]:
        """Hello, then what was missed after ``since``, or a snapshot."""
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

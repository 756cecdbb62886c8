"""The feed of everything, at once."""

from __future__ import annotations

from pullcall.api.sight.feed import Shown, hello
from pullcall.api.sight.noted import Noted


class WholeFeed:
    """Everything, at once. ``start`` is the type of the message that has it whole."""

    def __init__(self, site: Shown, start: str = "snapshot") -> None:
        self._site = site
        self._noted = Noted(site, start)
        self.now = site.now
        self.join = site.hub.join
        self.follow = site.hub.follow
        self.leave = site.hub.leave
        self.snapshot = self._noted.line

    @property
    def epoch(self) -> str:
        """The hub's own."""
        return self._site.hub.epoch

    def greeting(self, epoch: str | None, since: int | None) -> list[str]:
        """Hello, then what was missed after ``since``, or everything."""
        hub = self._site.hub
        missed = hub.missed(epoch, since)
        snapshot = self._noted.line()
        rest = [snapshot] if missed is None else missed
        is_resumed = missed is not None
        start = hello(hub.epoch, hub.seq, self.now(), self._noted.speed, resumed=is_resumed)
        return [start, *rest]

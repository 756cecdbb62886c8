"""One feed for each way of seeing the site, begun when the first link asks for it."""

from __future__ import annotations

from collections.abc import Iterable

from starlette.requests import HTTPConnection

from pullcall.access.records import WHOLE, Sight
from pullcall.api.sight.feed import Feed, Shown
from pullcall.api.sight.running import Running
from pullcall.api.sight.watched import WatchedFeed
from pullcall.api.sight.whole import WholeFeed
from pullcall.api.visitor import Visitor
from pullcall.clock import Clock
from pullcall.supervision import Edges


class Feeds:
    """Gives each visitor the feed of their sight. :meth:`run` keeps the late ones going."""

    def __init__(
        self, site: Shown, clock: Clock, edges: Edges, sights: Iterable[Sight] = ()
    ) -> None:
        """``sights``: those that links of before ask for, begun at once; ``edges`` are the
        site's."""
        self._site = site
        self._clock = clock
        self._whole = WholeFeed(site)
        self._watched: Running[WatchedFeed] = Running(clock, edges, "late feed")
        for sight in sights:
            self.of(sight)

    def of(self, sight: Sight) -> Feed:
        """The feed of a sight; a late one has nothing to show until its delay has passed."""
        if sight == WHOLE:
            return self._whole
        return self._watched.of(sight, lambda: WatchedFeed(self._site, sight, self._clock))

    def shown_to(self, visitor: Visitor, connection: HTTPConnection) -> Feed:
        """The feed of this visitor's sight."""
        return self.of(visitor.sight)

    async def run(self) -> None:
        """Run every feed that was asked for, until cancelled; then their streams end."""
        await self._watched.run()

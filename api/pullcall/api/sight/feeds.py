"""One feed for each way of seeing the site, begun when the first link asks for it."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterable

from pullcall.access.records import WHOLE, Sight
from pullcall.api.cook_site import CookSite
from pullcall.api.sight.feed import Feed, WholeFeed
from pullcall.api.sight.watched import WatchedFeed
from pullcall.clock import Clock

_log = logging.getLogger(__name__)

#: A feed that failed begins again after this, seconds.
_AGAIN_S = 1.0


class Feeds:
    """Gives each visitor the feed of their sight. :meth:`run` keeps the late ones going."""

    def __init__(self, site: CookSite, clock: Clock, sights: Iterable[Sight] = ()) -> None:
        """``sights``: those that links of before ask for, begun at once."""
        self._site = site
        self._clock = clock
        self._whole = WholeFeed(site)
        self._watched: dict[Sight, WatchedFeed] = {}
        self._new: asyncio.Queue[WatchedFeed] = asyncio.Queue()
        for sight in sights:
            self.of(sight)

    def of(self, sight: Sight) -> Feed:
        """The feed of a sight; a late one has nothing to show until its delay has passed."""
        if sight == WHOLE:
            return self._whole
        if sight not in self._watched:
            self._watched[sight] = WatchedFeed(self._site, sight, self._clock)
            self._new.put_nowait(self._watched[sight])
        return self._watched[sight]

    async def run(self) -> None:
        """Run every feed that was asked for, until cancelled; then their streams end."""
        try:
            async with asyncio.TaskGroup() as tasks:
                while True:
                    feed = await self._new.get()
                    tasks.create_task(self._keep_going(feed), name="watched feed")
        finally:
            for feed in self._watched.values():
                feed.close()

    async def _keep_going(self, feed: WatchedFeed) -> None:
        """What goes wrong with a feed for watchers is logged, and never touches the cook."""
        while True:
            try:
                await feed.run()
            except Exception:
                _log.exception("a feed for watchers failed; it begins again")
                feed.close()
                await self._clock.sleep_until(self._clock.monotonic() + _AGAIN_S)

"""Every way of seeing the site has one feed, and a broken one harms nobody else."""

from __future__ import annotations

import asyncio

import pytest

from pullcall.access.access import Access
from pullcall.access.records import WHOLE, Sight
from pullcall.access.role import Role
from pullcall.api.app import create_app
from pullcall.api.sight.feeds import Feeds
from pullcall.api.sight.watched import WatchedFeed
from pullcall.clock import RealClock
from pullcall.site.live import Site

LATE = Sight(delay_s=60.0)


async def test_those_who_see_everything_share_one_feed_and_the_late_another(site: Site) -> None:
    feeds = Feeds(site, RealClock(), site.edges)
    assert feeds.of(WHOLE) is feeds.of(WHOLE)
    assert feeds.of(LATE) is feeds.of(LATE)
    assert feeds.of(LATE) is not feeds.of(WHOLE)


async def test_a_late_feed_begins_anew_with_the_site_for_links_of_before(site: Site) -> None:
    access = Access(RealClock(), None)
    access.invite(Role.WATCHER, "", None, LATE)
    app = create_app(site, access)
    running = asyncio.create_task(app.state.feeds.run())
    async with asyncio.timeout(60):
        while not site.hub.count:  # noqa: ASYNC110
            await asyncio.sleep(0)
    running.cancel()
    await asyncio.gather(running, return_exceptions=True)
    assert site.hub.count == 0


async def test_a_feed_that_fails_begins_again_and_the_others_go_on(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    failures = 0
    again = asyncio.Event()
    honest = WatchedFeed._take_in

    async def broken_once(self: WatchedFeed) -> None:
        nonlocal failures
        if not failures:
            failures += 1
            raise RuntimeError("planted")
        again.set()
        await honest(self)

    monkeypatch.setattr(WatchedFeed, "_take_in", broken_once)
    feeds = Feeds(site, RealClock(), site.edges, [LATE])
    running = asyncio.create_task(feeds.run())
    async with asyncio.timeout(60):
        await again.wait()
    assert not running.done()
    running.cancel()
    await asyncio.gather(running, return_exceptions=True)

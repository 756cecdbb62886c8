"""Where a site begins its pages anew, the watchers' begin anew as well, when their time comes."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import Any

import pytest

from pullcall.access.records import Sight
from pullcall.api.sight.feed import Shown
from pullcall.api.sight.held import Held
from pullcall.api.sight.watched import WatchedFeed
from pullcall.board.mirrored_site import MirroredSite
from pullcall.board.roster import Roster
from pullcall.clock import RecordedClock
from pullcall.site.hub import Hub, Listener
from tests.board.published import ZERO, give, hear, kept, short_moments, taken, until

Json = dict[str, Any]
STRIPPED, LATE = Sight(hides_targets=True), Sight(delay_s=60.0)
SIGHTS = [STRIPPED, LATE, Sight(delay_s=60.0, hides_targets=True)]


class OneSteak:
    """A site of one steak, whose phase and calls a test sets."""

    def __init__(self) -> None:
        self.hub = Hub()
        self.phase = "on"
        self.calls: list[Json] = []

    def now(self) -> float:
        return 1.0

    def snapshot(self) -> Json:
        numbers = {"epoch": self.hub.epoch, "seq": self.hub.seq, "t": 1.0, "speed": 1}
        steaks = [{"steak": "left", "phase": self.phase}]
        return {**numbers, "cook": {}, "steaks": steaks, "calls": self.calls}

    def publish_phases(self, *phases: str) -> None:
        for self.phase in phases:
            self.hub.publish("steak", {"steak": "left", "phase": self.phase})


class Watched:
    """A feed that runs, on a clock that a test moves."""

    def __init__(self, site: Shown, sight: Sight, held: Held | None) -> None:
        self.clock = RecordedClock(datetime(2026, 6, 13, 12, 0, tzinfo=UTC))
        self.feed = WatchedFeed(site, sight, self.clock, held)

    async def pass_time(self, seconds: float) -> None:
        await settle()
        for _ in range(round(seconds)):
            self.clock.advance_to(self.clock.monotonic() + 1.0)
            await settle()

    def shown(self) -> Json:
        shown: Json = json.loads(self.feed.snapshot())
        return shown

    def resumed(self, since: int) -> list[str]:
        """The types of what a page gets that comes back."""
        return [json.loads(line)["type"] for line in self.feed.greeting(self.feed.epoch, since)]


@asynccontextmanager
async def watched(site: Shown, sight: Sight, held: Held | None = None) -> AsyncIterator[Watched]:
    """A feed that shows something already."""
    one = Watched(site, sight, held)
    task = asyncio.create_task(one.feed.run())
    try:
        await one.pass_time(sight.delay_s + 1.0)
        yield one
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


async def settle() -> None:
    for _ in range(50):
        await asyncio.sleep(0)


def phases(page: Listener) -> list[str]:
    """What a page was told of the steak, by messages and by snapshots."""
    told = [line for line in taken(page) if line["type"] in ("steak", "snapshot")]
    return [line["steaks"][0]["phase"] if "steaks" in line else line["phase"] for line in told]


@pytest.mark.parametrize("sight", SIGHTS)
async def test_after_an_outage_of_the_broker_watchers_see_what_happened_meanwhile(
    sight: Sight,
) -> None:
    short_moments()  # worked out before any clock moves
    roster, t = Roster(), ZERO + 100.0
    hear(roster, until(100.0))
    mirror = roster.site("north")
    assert mirror is not None
    site = MirroredSite(mirror, lambda: t)
    async with watched(site, sight) as watcher:
        page = watcher.feed.join()
        seen = watcher.shown()["seq"]
        roster.cut_off()
        t = ZERO + 290.0
        roster.follow(t)
        for publication in kept(until(290.0)).values():
            give(roster, publication, t, is_retained=True)
        roster.settle(t)
        await watcher.pass_time(sight.delay_s - 1.0)
        early = [line for line in taken(page) if line["type"] == "snapshot"]
        await watcher.pass_time(2.0)
        told = early if sight.delay_s == 0.0 else taken(page)
        assert sight.delay_s == 0.0 or early == []
        [snapshot] = [line for line in told if line["type"] == "snapshot"]
        assert {steak["phase"] for steak in snapshot["steaks"]} == {"resting"}
        assert snapshot["seq"] == seen + 1
        assert watcher.resumed(seen) == ["hello", "snapshot"]


async def test_a_snapshot_of_every_ten_seconds_begins_nobody_anew() -> None:
    site = OneSteak()
    async with watched(site, LATE) as watcher:
        page = watcher.feed.join()
        seen = watcher.shown()["seq"]
        await watcher.pass_time(65.0)
        assert phases(page) == []
        assert watcher.resumed(seen) == ["hello"]


async def test_a_gap_reaches_late_pages_when_it_comes_due_and_as_a_snapshot() -> None:
    site = OneSteak()
    async with watched(site, LATE) as watcher:
        page = watcher.feed.join()
        seen = watcher.shown()["seq"]
        site.publish_phases(*["on"] * 299, "resting")  # more than a listener may fall behind
        await watcher.pass_time(58.0)
        assert phases(page) == []
        assert not page.is_gone, "what it is shown now has no gap"
        assert watcher.resumed(seen) == ["hello"]
        await watcher.pass_time(4.0)
        assert phases(page) == ["resting"]
        assert watcher.resumed(seen) == ["hello", "snapshot"]
        site.publish_phases("boxed")
        await watcher.pass_time(61.0)
        assert phases(page) == ["boxed"]


async def test_the_state_of_a_call_that_a_page_began_with_is_told() -> None:
    site = OneSteak()
    site.calls = [{"id": "c1", "call": "rest_done"}, {"id": "c2", "call": "pull_now"}]
    async with watched(site, STRIPPED) as watcher:
        page = watcher.feed.join()
        for id in ("c1", "c2"):
            site.hub.publish("call_state", {"id": id, "state": "acknowledged"})
        await settle()
        assert [line["id"] for line in taken(page) if line["type"] == "call_state"] == ["c1"]


async def test_pages_are_let_go_when_the_site_lets_its_own_go() -> None:
    site = OneSteak()
    async with watched(site, LATE) as watcher:
        page = watcher.feed.join()
        site.hub.close()
        await settle()
        assert page.is_gone


async def test_a_feed_that_begins_again_tells_pages_what_it_missed() -> None:
    site = OneSteak()
    async with watched(site, STRIPPED) as watcher:
        seen = watcher.shown()["seq"]
    site.publish_phases("resting")  # nobody takes it in
    again = asyncio.create_task(watcher.feed.run())
    await settle()
    assert watcher.resumed(seen) == ["hello", "snapshot"]
    assert watcher.shown()["steaks"][0]["phase"] == "resting"
    again.cancel()
    await asyncio.gather(again, return_exceptions=True)


async def test_a_flood_is_bounded_and_late_pages_follow_by_snapshots() -> None:
    site = OneSteak()
    held = Held(most_bytes=2000)
    most = 0
    async with watched(site, LATE, held) as watcher:
        page = watcher.feed.join()
        told: list[Json] = []
        for n in range(60):
            site.hub.whisper("tick", {"t": float(n)})
            site.publish_phases(*["on"] * 200, f"resting {n}")
            await watcher.pass_time(1.0)
            most = max(most, held.packed_bytes)
            told += taken(page)
        flooded = held.is_full
        for _ in range(70):
            await watcher.pass_time(1.0)
            told += taken(page)
    assert flooded
    assert most < 12_000, "a snapshot and ticks each ten seconds, and one block, past the bound"
    snapshots = [line for line in told if line["type"] == "snapshot"]
    assert snapshots[-1]["steaks"][0]["phase"] == "resting 59"
    assert len(snapshots) >= 5
    assert [line["t"] for line in told if line["type"] == "tick"] == [float(n) for n in range(60)]
    seqs = [line["seq"] for line in told if "seq" in line]
    assert seqs == list(range(seqs[0], seqs[0] + len(seqs))), "gaps would tell of what is left out"

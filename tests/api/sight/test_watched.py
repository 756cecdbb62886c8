"""A late feed shows what was, and nothing of what is."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from datetime import UTC, datetime
from typing import Any

import pytest

from pullcall.access.records import Sight
from pullcall.api.sight.watched import WatchedFeed
from pullcall.clock import RecordedClock
from pullcall.errors import RefusedError
from pullcall.events import Mark, MarkKind
from pullcall.site.live import Site

LATE = Sight(delay_s=120.0)


class Late:
    """A late feed on a clock that a test moves."""

    def __init__(self, site: Site, sight: Sight) -> None:
        self.clock = RecordedClock(datetime(2026, 6, 13, 12, 0, tzinfo=UTC))
        self.feed = WatchedFeed(site, sight, self.clock)
        self._task = asyncio.create_task(self.feed.run())

    async def pass_time(self, seconds: float) -> None:
        """Let the feed take in what is there, move its clock, and let it release what is due."""
        await settle()
        self.clock.advance_to(self.clock.monotonic() + seconds)
        await settle()

    async def end(self) -> None:
        self._task.cancel()
        await asyncio.gather(self._task, return_exceptions=True)


@pytest.fixture
async def late(site: Site) -> AsyncIterator[Late]:
    late = Late(site, LATE)
    yield late
    await late.end()


async def settle() -> None:
    for _ in range(50):
        await asyncio.sleep(0)


async def mark(site: Site, kind: MarkKind) -> None:
    await site.take(lambda t: Mark(t, "left", kind, str(kind)))


def greeting(late: Late, since: int | None = None) -> list[dict[str, Any]]:
    return [json.loads(line) for line in late.feed.greeting(late.feed.epoch or None, since)]


async def test_nothing_is_shown_before_the_delay_has_passed(site: Site, late: Late) -> None:
    await late.pass_time(100.0)
    assert [message["type"] for message in greeting(late)] == ["hello"]
    with pytest.raises(RefusedError, match="2 min late"):
        late.feed.snapshot()


async def test_a_mark_is_shown_when_its_delay_has_passed(site: Site, late: Late) -> None:
    await late.pass_time(130.0)
    await mark(site, MarkKind.ON)
    await late.pass_time(119.0)
    assert all(message["type"] != "mark" for message in greeting(late))
    assert late.feed.snapshot()["marks"] == []
    await late.pass_time(2.0)
    told = greeting(late)
    assert [m["mark"] for m in told if m["type"] == "mark"] == ["on"]


async def test_a_listener_hears_a_mark_late_and_once(site: Site, late: Late) -> None:
    await late.pass_time(130.0)
    listener = late.feed.join()
    await mark(site, MarkKind.ON)
    await late.pass_time(60.0)
    await late.pass_time(61.0)
    heard = [json.loads(line or "{}") for line in drained(listener.queue)]
    assert [m["mark"] for m in heard if m["type"] == "mark"] == ["on"]


async def test_a_page_that_comes_back_gets_what_it_missed(site: Site, late: Late) -> None:
    await late.pass_time(130.0)
    await mark(site, MarkKind.ON)
    await late.pass_time(121.0)
    seen = max(message["seq"] for message in greeting(late) if "seq" in message)
    await mark(site, MarkKind.TURN)
    await late.pass_time(121.0)
    told = greeting(late, since=seen)
    assert told[0]["resumed"]
    assert [m["mark"] for m in told if m["type"] == "mark"] == ["turn"]
    assert "snapshot" not in [m["type"] for m in told]


async def test_the_clock_shown_is_late_too(site: Site, late: Late) -> None:
    assert late.feed.now() == pytest.approx(site.now() - 120.0, abs=1.0)


async def test_a_stripped_feed_without_delay_starts_at_once(site: Site) -> None:
    stripped = Late(site, Sight(hides_targets=True))
    try:
        await settle()
        told = greeting(stripped)
        assert [message["type"] for message in told][:2] == ["hello", "snapshot"]
        assert "pull_c" not in told[1]["steaks"][0]
    finally:
        await stripped.end()


def drained(queue: asyncio.Queue[str | None]) -> list[str | None]:
    lines = []
    while not queue.empty():
        lines.append(queue.get_nowait())
    return lines

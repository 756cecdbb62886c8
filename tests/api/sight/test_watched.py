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
    assert json.loads(late.feed.snapshot())["marks"] == []
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


async def test_nothing_tells_of_calls_that_are_not_shown(site: Site) -> None:
    """Neither their states, nor gaps in the numbers of messages, nor the moment of a change."""
    stripped = Late(site, Sight(hides_targets=True))
    try:
        await settle()
        stripped.feed.snapshot()
        listener = stripped.feed.join()
        for _ in range(3):
            site.hub.publish("call", {"id": "c1", "call": "pull_soon", "text": "Left: pull in 40"})
            site.hub.publish("call_state", {"id": "c1", "state": "cleared"})
            site.hub.publish("schedule", {"calls": []})
            site.hub.publish("call", {"id": "c2", "call": "flip", "text": "Left: flip"})
            site.hub.publish("call_state", {"id": "c2", "state": "cleared"})
        await settle()
        heard = [json.loads(line or "{}") for line in drained(listener.queue)]
        numbered = [m for m in heard if "seq" in m]
        assert {m["type"] for m in numbered} == {"call", "call_state"}
        assert {m["id"] for m in numbered} == {"c2"}
        seqs = [m["seq"] for m in numbered]
        assert seqs == list(range(seqs[0], seqs[0] + 6))
    finally:
        await stripped.end()


async def test_the_clock_shown_does_not_jump_when_a_cook_begins(site: Site, late: Late) -> None:
    site.hub.whisper("tick", {"t": 500.0})
    await late.pass_time(121.0)
    shown = late.feed.now()
    await site.begin(None)
    assert late.feed.now() == pytest.approx(shown, abs=0.5)

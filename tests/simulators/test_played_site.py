"""A site that plays a cook over and over."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from pullcall.clock import RecordedClock
from pullcall.simulators.played_site import Played, PlayedSite
from pullcall.simulators.sites import site_options
from pullcall.simulators.tape import Tape
from tests.tapes import first_minutes

Json = dict[str, Any]
NOW = datetime(2026, 6, 13, 12, 0, tzinfo=UTC)


class Heard:
    """What a site said, on a clock that stands still until told."""

    def __init__(self) -> None:
        self.clock = RecordedClock(NOW)
        self.messages: list[Json] = []

    async def until(self, t: float) -> None:
        """Let time pass in small steps, so that nothing is skipped."""
        while self.clock.monotonic() < t:
            self.clock.advance_to(min(t, self.clock.monotonic() + 0.5))
            await _settled()

    def of(self, kind: str) -> list[Json]:
        return [message for message in self.messages if message["type"] == kind]


async def _settled() -> None:
    for _ in range(20):
        await asyncio.sleep(0)


@asynccontextmanager
async def playing(
    begins_s: float, speed: float = 1.0, tape: Tape | None = None
) -> AsyncIterator[Heard]:
    heard = Heard()
    played = Played(site_options(0), tape or first_minutes(), begins_s, speed)
    task = asyncio.create_task(PlayedSite(played, heard.clock, heard.messages.append).run())
    await _settled()
    yield heard
    task.cancel()
    with suppress(asyncio.CancelledError):
        await task


async def test_it_begins_with_a_snapshot_and_catches_up_to_its_place() -> None:
    async with playing(100.0) as heard:
        assert heard.messages[0]["type"] == "snapshot"
        assert heard.messages[0]["t"] == 100.0
        assert max(reading["t"] for reading in heard.of("reading")) <= 100.0


async def test_each_message_comes_at_its_time_and_a_tick_each_second() -> None:
    async with playing(100.0) as heard:
        before = len(heard.of("reading"))
        await heard.until(10.0)
        later = heard.of("reading")[before:]
        assert later and all(100.0 < reading["t"] <= 110.0 for reading in later)
        assert [tick["t"] for tick in heard.of("tick")] == [
            101.0 + k for k in range(len(heard.of("tick")))
        ]
        assert len(heard.of("tick")) in (9, 10)


async def test_a_fast_one_ticks_each_second_of_life() -> None:
    async with playing(100.0, speed=6.0) as heard:
        await heard.until(5.0)
        assert [tick["t"] for tick in heard.of("tick")][:3] == [106.0, 112.0, 118.0]
        assert heard.messages[0]["speed"] == 6.0


async def test_its_cook_is_one_of_today_and_its_own() -> None:
    async with playing(60.0) as heard:
        cook = heard.messages[0]["cook"]
        assert cook["started"] == "2026-06-13T11:59:00+00:00"
        assert cook["id"].startswith("creek-yard-")
        opens = datetime.fromisoformat(cook["window"]["opens"])
        assert (opens - NOW).total_seconds() == cook["window_t"][0] - 60.0


async def test_another_cook_follows_the_last_one() -> None:
    whole = first_minutes()
    said = tuple(said for said in whole.said if said.t <= 120.0)
    short = replace(whole, said=said, ends_t=120.0)
    async with playing(118.0, tape=short) as heard:
        await heard.until(5.0)
        first, second = heard.of("snapshot")
        assert first["cook"]["id"] != second["cook"]["id"]
        assert second["t"] == 0.0

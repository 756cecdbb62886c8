"""The three clocks keep monotonic and wall time together."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta

from pullcall.clock import AcceleratedClock, RealClock, RecordedClock, boot_id

START = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)


async def test_an_accelerated_clock_sleeps_its_own_seconds() -> None:
    clock = AcceleratedClock(1000.0, START)
    await clock.sleep_until(20.0)
    assert clock.monotonic() >= 19.9
    assert clock.wall() - START >= timedelta(seconds=19.9)


async def test_a_recorded_clock_stands_still_until_told() -> None:
    clock = RecordedClock(START)
    woken: list[float] = []

    async def sleeper(moment: float) -> None:
        await clock.sleep_until(moment)
        woken.append(moment)

    tasks = [asyncio.create_task(sleeper(moment)) for moment in (3.0, 1.0, 2.0)]
    await asyncio.sleep(0)
    clock.advance_to(2.0)
    await asyncio.sleep(0)
    await asyncio.sleep(0)
    assert woken == [1.0, 2.0]
    clock.advance_to(9.0)
    await asyncio.gather(*tasks)
    assert clock.wall() == START + timedelta(seconds=9.0)


def test_a_recorded_clock_never_goes_back() -> None:
    clock = RecordedClock(START)
    clock.advance_to(5.0)
    clock.advance_to(3.0)
    assert clock.monotonic() == 5.0


async def test_the_real_clock_does_not_wait_for_a_moment_that_has_passed() -> None:
    clock = RealClock()
    async with asyncio.timeout(5):
        await clock.sleep_until(clock.monotonic() - 100.0)
    assert clock.wall().tzinfo is not None


def test_a_boot_has_a_name_that_stays() -> None:
    assert boot_id() == boot_id() != ""

"""The three clocks keep monotonic and wall time together."""

from __future__ import annotations

import asyncio
import time
from datetime import UTC, datetime, timedelta

import pytest

from pullcall.clock import LONGEST_NAP_S, AcceleratedClock, RealClock, RecordedClock, boot_id

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
    async with asyncio.timeout(60):
        await clock.sleep_until(clock.monotonic() - 100.0)
    assert clock.wall().tzinfo is not None


class SuspendedMachine:
    """The clock that goes on in a suspended machine, and an event loop whose timers do not."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.suspended_s = 0.0
        self.naps: list[float] = []
        awake, sleep = time.clock_gettime, asyncio.sleep
        monkeypatch.setattr(time, "clock_gettime", lambda which: awake(which) + self.suspended_s)

        async def nap(seconds: float) -> None:
            self.naps.append(seconds)
            await sleep(0)
            self.suspended_s += 40.0

        monkeypatch.setattr(asyncio, "sleep", nap)


@pytest.mark.parametrize("speed", [None, 6.0])
async def test_who_sleeps_long_wakes_within_a_second_of_a_suspended_machine(
    monkeypatch: pytest.MonkeyPatch, speed: float | None
) -> None:
    clock = RealClock() if speed is None else AcceleratedClock(speed, START)
    began = clock.monotonic()
    machine = SuspendedMachine(monkeypatch)
    await clock.sleep_until(began + 30.0 * (speed or 1.0))
    assert clock.monotonic() - began >= 40.0
    assert machine.naps == [LONGEST_NAP_S]


def test_the_real_clock_counts_the_seconds_of_a_suspended_machine() -> None:
    if not hasattr(time, "CLOCK_BOOTTIME"):
        pytest.skip("this system has no clock that goes on while it is suspended")
    before = time.clock_gettime(time.CLOCK_BOOTTIME)
    assert before <= RealClock().monotonic() <= time.clock_gettime(time.CLOCK_BOOTTIME)


def test_a_boot_has_a_name_that_stays() -> None:
    assert boot_id() == boot_id() != ""

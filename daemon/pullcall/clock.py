"""The one clock: monotonic seconds for logic, wall time only for people and the window."""

from __future__ import annotations

import asyncio
import heapq
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol

#: Goes on while the machine is suspended, as steaks do; elsewhere than on Linux there is none.
_STEADY = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)
#: The event loop's own timers stand still in a suspended machine: nobody sleeps longer than this
#: at a time, so that what fell into the sleep is done this soon after it, seconds.
LONGEST_NAP_S = 1.0


class Clock(Protocol):
    """Monotonic seconds and wall time that belong together."""

    def monotonic(self) -> float:
        """Seconds that never go back; only differences mean anything. They go on while the
        machine is suspended, and may then leap."""

    def wall(self) -> datetime:
        """The time of day, with a zone. May jump when a network sets it."""

    async def sleep_until(self, moment: float) -> None:
        """Return once :meth:`monotonic` has reached ``moment`` seconds."""


class RealClock:
    """The machine's own clocks."""

    def monotonic(self) -> float:
        return steady_s()

    def wall(self) -> datetime:
        return datetime.now(UTC)

    async def sleep_until(self, moment: float) -> None:
        await _nap_until(lambda: moment - self.monotonic())


class AcceleratedClock:
    """A clock that runs ``speed`` times faster than life, from a given wall time."""

    def __init__(self, speed: float, started: datetime | None = None) -> None:
        self.speed = speed
        self._zero = steady_s()
        self._started = started or datetime.now(UTC)

    def monotonic(self) -> float:
        return (steady_s() - self._zero) * self.speed

    def wall(self) -> datetime:
        return self._started + timedelta(seconds=self.monotonic())

    async def sleep_until(self, moment: float) -> None:
        await _nap_until(lambda: (moment - self.monotonic()) / self.speed)


class RecordedClock:
    """A clock that stands still until told: by a log being replayed, or by a test."""

    def __init__(self, started: datetime) -> None:
        self._started = started
        self._now = 0.0
        self._sleepers: list[tuple[float, int, asyncio.Future[None]]] = []
        self._order = 0

    def monotonic(self) -> float:
        return self._now

    def wall(self) -> datetime:
        return self._started + timedelta(seconds=self._now)

    async def sleep_until(self, moment: float) -> None:
        if moment <= self._now:
            await asyncio.sleep(0)
            return
        waiter = asyncio.get_running_loop().create_future()
        self._order += 1
        heapq.heappush(self._sleepers, (moment, self._order, waiter))
        await waiter

    def advance_to(self, moment: float) -> None:
        """Move to ``moment`` seconds (never back) and wake everyone due."""
        self._now = max(self._now, moment)
        while self._sleepers and self._sleepers[0][0] <= self._now:
            waiter = heapq.heappop(self._sleepers)[2]
            if not waiter.done():
                waiter.set_result(None)


def steady_s() -> float:
    """The machine's seconds since it was started, the suspended ones included."""
    return time.clock_gettime(_STEADY)


async def _nap_until(left_s: Callable[[], float]) -> None:
    """Return once no seconds are left."""
    await asyncio.sleep(max(0.0, min(left_s(), LONGEST_NAP_S)))
    while (left := left_s()) > 0.0:  # noqa: ASYNC110 - what passes is time
        await asyncio.sleep(min(left, LONGEST_NAP_S))


def boot_id() -> str:
    """Name this boot of the machine, so that monotonic times are never mixed across boots."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return "unknown"

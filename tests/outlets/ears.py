"""What the outlets' tests share: calls, a list of reports, waiting with a deadline."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable, Coroutine
from datetime import UTC, datetime
from typing import Any

from pullcall.clock import RecordedClock
from pullcall.events import Call, CallKind
from pullcall.outlets.outlet import Report

STARTED = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)
#: Far longer than anything here takes; only a test that fails waits for it.
DEADLINE_S = 60.0


def call(
    id: str = "c1",
    *,
    steaks: tuple[str, ...] = ("left",),
    priority: int = 1,
    kind: CallKind = CallKind.PULL_SOON,
    in_s: float | None = 40.0,
    text: str = "Left: pull in about 40",
    t: float = 480.0,
    insistent: bool = False,
) -> Call:
    return Call(t, id, steaks, kind, in_s, priority, text, insistent)


def clock() -> RecordedClock:
    return RecordedClock(STARTED)


class Reported:
    """Collects reports and lets a test wait for one."""

    def __init__(self) -> None:
        self.all: list[Report] = []
        self._more = asyncio.Event()

    def __call__(self, report: Report) -> None:
        self.all.append(report)
        self._more.set()

    async def count(self, number: int) -> list[Report]:
        """All reports, once there are ``number``."""
        async with asyncio.timeout(DEADLINE_S):
            while len(self.all) < number:
                self._more.clear()
                await self._more.wait()
        return self.all


async def until(holds: Callable[[], bool]) -> None:
    """Let everything else run until ``holds``."""
    async with asyncio.timeout(DEADLINE_S):
        while not holds():  # noqa: ASYNC110
            await asyncio.sleep(0.005)


async def settle() -> None:
    """Let every task that can go on without the clock or the outside do so."""
    for _ in range(50):
        await asyncio.sleep(0)


@contextlib.asynccontextmanager
async def running(work: Coroutine[Any, Any, None]) -> AsyncIterator[asyncio.Task[None]]:
    """``work`` runs within the block and is cancelled at its end; it must not end by itself."""
    task = asyncio.create_task(work)
    try:
        yield task
    finally:
        was_done = task.done()
        task.cancel()
        (result,) = await asyncio.gather(task, return_exceptions=True)
        assert not was_done, f"it ended by itself: {result!r}"

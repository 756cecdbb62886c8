"""A clock that a test sets and moves, and that says when somebody waits for it."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta

from pullcall.clock import RecordedClock

NOON = datetime(2026, 6, 13, 12, 0, tzinfo=UTC)
_DEADLINE_S = 60.0


class SetClock(RecordedClock):
    """Stands still; ``waits`` are the lengths of the waits begun, seconds."""

    def __init__(self, wall: datetime = NOON) -> None:
        super().__init__(wall)
        self.waits: list[float] = []
        self._ahead = timedelta(0)
        self._begun = asyncio.Event()

    def wall(self) -> datetime:
        return super().wall() + self._ahead

    def set_wall(self, wall: datetime) -> None:
        """As a network or a phone does: the monotonic time goes on."""
        self._ahead = wall - super().wall()

    async def sleep_until(self, moment: float) -> None:
        self.waits.append(moment - self.monotonic())
        self._begun.set()
        await super().sleep_until(moment)

    async def someone_waits(self) -> None:
        """Return once somebody began to wait since the last time this returned."""
        async with asyncio.timeout(_DEADLINE_S):
            await self._begun.wait()
        self._begun.clear()

    async def pass_by(self, seconds: float) -> None:
        """Let a wait of that length end, and the next one begin."""
        self.advance_to(self.monotonic() + seconds)
        await self.someone_waits()

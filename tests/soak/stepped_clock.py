"""A fast clock whose time of day somebody moves about."""

from __future__ import annotations

from datetime import datetime, timedelta

from pullcall.clock import AcceleratedClock


class SteppedClock(AcceleratedClock):
    """Its monotonic seconds go on, whatever the time of day does."""

    def __init__(self, speed: float) -> None:
        super().__init__(speed)
        self._off = timedelta()

    def wall(self) -> datetime:
        return super().wall() + self._off

    def step(self, seconds: float) -> None:
        """Move the time of day."""
        self._off += timedelta(seconds=seconds)

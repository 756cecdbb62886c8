"""The last minutes of one probe, spikes taken out and thinned. Times are cook seconds."""

from __future__ import annotations

import math
from collections import deque
from statistics import fmean, median

from pullcall.fire.slope import theil_sen
from pullcall.proposals.rules import KEPT_S, POINT_S


class Trace:
    """Points at least ``POINT_S`` apart, each the mean of medians of three readings."""

    def __init__(self) -> None:
        self.points: deque[tuple[float, float]] = deque()
        self._last: deque[tuple[float, float]] = deque(maxlen=3)
        self._open: list[tuple[float, float]] = []

    def add(self, t: float, celsius: float) -> bool:
        """Take a reading; True when a point was made. No number and no later time is dropped."""
        if not math.isfinite(celsius) or (self._last and t <= self._last[-1][0]):
            return False
        self._last.append((t, celsius))
        is_point = len(self._last) == 3 and self._make_point()
        while self.points and self.points[0][0] < t - KEPT_S:
            self.points.popleft()
        return is_point and bool(self.points)

    def between(self, begin: float, end: float) -> list[tuple[float, float]]:
        """The points after ``begin`` and up to ``end``."""
        return [point for point in self.points if begin < point[0] <= end]

    def level(self, begin: float, end: float) -> float | None:
        """Their median, Celsius; None where there are none."""
        found = [celsius for _, celsius in self.between(begin, end)]
        return median(found) if found else None

    def slope(self, begin: float, end: float) -> float | None:
        """Their robust slope, kelvin per minute; None unless they span most of the time."""
        found = self.between(begin, end)
        if len(found) < 4 or found[-1][0] - found[0][0] < 0.7 * (end - begin):
            return None
        per_second = theil_sen(found)
        return None if per_second is None else per_second * 60.0

    def _make_point(self) -> bool:
        """Take the middle one of the last three; True when a point was made."""
        # One spike never passes a median of three; the time is that of the middle one.
        self._open.append((self._last[1][0], median(c for _, c in self._last)))
        if self._last[1][0] - self._open[0][0] < POINT_S - 0.3 and not self._is_slow():
            return False
        self.points.append((fmean(t for t, _ in self._open), fmean(c for _, c in self._open)))
        self._open.clear()
        return True

    def _is_slow(self) -> bool:
        return self._last[1][0] - self._last[0][0] >= POINT_S - 0.3

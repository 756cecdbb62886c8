"""What one source has told of the grate: its level and where that goes, in bounded memory."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from statistics import fmean, median

from pullcall.fire.slope import theil_sen


@dataclass(frozen=True, slots=True)
class TrailRule:
    """How one source is read. Seconds, and numbers of points.

    The level is the median of the last ``level_s``; the slope is taken over the last
    ``slope_s`` from points ``apart_s`` apart, at most ``most`` and at least ``fewest`` of them
    spanning ``shortest_s``. A temperature was reached when level and median of the last
    ``agreeing`` points say so. Without news for ``stale_s`` nothing is known any more.
    """

    level_s: float
    slope_s: float
    apart_s: float
    most: int
    fewest: int
    shortest_s: float
    agreeing: int
    stale_s: float


#: A probe speaks every second or so; a minute of it is the least that shows a trend.
PROBE = TrailRule(30.0, 300.0, 5.0, most=61, fewest=12, shortest_s=60.0, agreeing=3, stale_s=120.0)
#: Infrared checks are rare, and one spot of a grate is easily 10 C off the next: three at least.
SPOTS = TrailRule(0.0, 1_200.0, 0.0, most=6, fewest=3, shortest_s=120.0, agreeing=1, stale_s=900.0)
#: The level is worked out from readings this far apart, seconds, whatever the probe's pace.
_LEVEL_APART_S = 0.9


class Trail:
    """The last points of one source. Times are cook seconds."""

    def __init__(self, rule: TrailRule) -> None:
        self.rule = rule
        self.heard_t = -math.inf
        self.highest_c = -math.inf
        self._level: deque[tuple[float, float]] = deque()
        self._points: deque[tuple[float, float]] = deque(maxlen=rule.most)
        self._slope: float | None = None

    def hear(self, t: float, celsius: float) -> bool:
        """Note that the source spoke; False for a time not later than its last or no number."""
        if not math.isfinite(celsius) or t <= self.heard_t:
            return False
        self.heard_t = t
        return True

    def keep(self, t: float, celsius: float) -> None:
        """Count this one towards level and slope."""
        if not self._level or t - self._level[-1][0] >= min(_LEVEL_APART_S, self.rule.level_s):
            self._level.append((t, celsius))
        while self._level[0][0] < t - self.rule.level_s:
            self._level.popleft()
        if not self._points or t - self._points[-1][0] >= self.rule.apart_s:
            self._points.append((t, celsius))
            while self._points[0][0] < t - self.rule.slope_s:
                self._points.popleft()
            self._slope = self._worked_out()
            self._note_highest()

    def is_stale(self, now: float) -> bool:
        """Whether the source has been silent for too long."""
        return now - self.heard_t > self.rule.stale_s

    def size(self) -> int:
        """How many points are kept."""
        return len(self._level) + len(self._points)

    def is_empty(self) -> bool:
        """Whether nothing was ever kept."""
        return not self._level

    def level(self) -> tuple[float, float, float]:
        """The robust level, Celsius, the time it stands for, and the time of its last point."""
        times = [t for t, _ in self._level]
        return median(celsius for _, celsius in self._level), fmean(times), times[-1]

    def slope(self) -> float | None:
        """Kelvin per second; None while too few points came to tell."""
        return self._slope

    def _note_highest(self) -> None:
        last = [celsius for _, celsius in self._points][-self.rule.agreeing :]
        if len(last) == self.rule.agreeing:
            agreed = min(median(last), self.level()[0])
            self.highest_c = max(self.highest_c, agreed)

    def _worked_out(self) -> float | None:
        span = self._points[-1][0] - self._points[0][0]
        if len(self._points) < self.rule.fewest or span < self.rule.shortest_s:
            return None
        return theil_sen(self._points)

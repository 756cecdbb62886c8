"""A steak came off: its probe left the meat, or its core's rise bent down."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from statistics import median

from pullcall.proposals.found import Found
from pullcall.proposals.rules import (
    BEND_AFTER_FLIP_S,
    BEND_BACK_S,
    BEND_DROP_C_PER_MIN,
    BEND_FRESH_S,
    BEND_GROWS_C_PER_MIN,
    BEND_LAG_S,
    BEND_LAG_S_PER_MM2,
    BEND_NEAR_C,
    BEND_PEAKED_C_PER_MIN,
    BEND_SHARE,
    BEND_SLOPE_S,
    BEND_STEADY_C_PER_MIN,
    BEND_STEP_C,
    BEND_WITHIN_S,
    LEFT_BACK_C,
    LEFT_BEFORE_S,
    LEFT_FALL_C,
    LEFT_NEAR_C,
    LEFT_ON_THE_WAY,
    LEFT_SURE_BELOW_C,
    LEFT_SURE_FALL_C,
    LEFT_SURE_S,
)
from pullcall.proposals.trace import Trace

_LEFT = "the probe left the meat"
_BENT = "the core's rise bent down"


class LeavingWatch:
    """The probe's reading falls toward the air, further than any slip inside meat."""

    def __init__(self) -> None:
        self._found: Found | None = None
        self._before = self._lowest = 0.0
        self._sure_since: float | None = None

    def see(self, trace: Trace, pull_c: float) -> Found | None:
        """Look at a new point. The same finding comes again, at last as ``sure``."""
        if self._found is None:
            self._found = self._fall(trace, pull_c)
            return self._found
        return self._follow(trace)

    def _fall(self, trace: Trace, pull_c: float) -> Found | None:
        now, celsius = trace.points[-1]
        if celsius > pull_c - LEFT_FALL_C + 20.0:
            return None
        before = trace.level(now - LEFT_BEFORE_S[0], now - LEFT_BEFORE_S[1])
        if before is None or before < pull_c - LEFT_NEAR_C or before - celsius < LEFT_FALL_C:
            return None
        self._before, self._lowest, self._sure_since = before, celsius, None
        since = now - LEFT_BEFORE_S[0]
        on_top = [t for t, c in trace.between(since, now) if c >= before - 1.0]
        return Found(round(on_top[-1] if on_top else since, 1), _LEFT)

    def _follow(self, trace: Trace) -> Found | None:
        """Until it climbs back; sure once it lies low for a while and went there by degrees."""
        found = self._found
        assert found is not None
        now, celsius = trace.points[-1]
        self._lowest = min(self._lowest, celsius)
        if celsius > self._lowest + LEFT_BACK_C:
            self._found = None
            return None
        fall = self._before - self._lowest
        if fall < LEFT_SURE_FALL_C or celsius > LEFT_SURE_BELOW_C:
            self._sure_since = None
        elif self._sure_since is None:
            self._sure_since = now
        if self._sure_since is None or now - self._sure_since < LEFT_SURE_S or found.sure:
            return found
        low, high = self._lowest + 0.2 * fall, self._before - 0.2 * fall
        way = [c for _, c in trace.between(found.happened, now) if low < c < high]
        if len(way) >= LEFT_ON_THE_WAY:
            self._found = Found(found.happened, found.why, sure=True)
        return self._found


class BendWatch:
    """The core's rise, compared with the steepest of the last minutes."""

    def __init__(self) -> None:
        self._slopes: deque[tuple[float, float]] = deque()
        self._moved_t = -math.inf
        self._bent: _Bend | None = None
        self._found: Found | None = None

    def see(
        self, trace: Trace, pull_c: float, thickness_mm: float, flipped_t: float | None
    ) -> Found | None:
        """Look at a new point; ``flipped_t`` is the last flip, made or planned."""
        now, celsius = trace.points[-1]
        if self._has_moved(trace, now):
            return None
        slope = trace.slope(now - BEND_SLOPE_S, now)
        if slope is None:
            return self._found
        self._follow(now, slope, celsius)
        if self._bent is None:
            self._found = None
        elif self._found is None and self._is_told(now, slope, pull_c, flipped_t):
            lag_s = BEND_LAG_S + BEND_LAG_S_PER_MM2 * thickness_mm**2
            self._found = Found(round(self._bent.t - lag_s, 1), _BENT)
        return self._found

    def _has_moved(self, trace: Trace, now: float) -> bool:
        """A step is the probe, not the meat: what was seen is void until it is out of sight."""
        latest, earlier = trace.level(now - 4.5, now), trace.level(now - 14.5, now - 8.0)
        if latest is not None and earlier is not None and abs(latest - earlier) > BEND_STEP_C:
            self._moved_t, self._bent, self._found = now, None, None
            self._slopes.clear()
        return now - self._moved_t <= BEND_SLOPE_S

    def _is_told(self, now: float, slope: float, pull_c: float, flipped_t: float | None) -> bool:
        """Near the pull, long after a flip, and just bent: an old bend only once it has peaked."""
        bent = self._bent
        if bent is None or bent.highest_c < pull_c - BEND_NEAR_C:
            return False
        if flipped_t is not None and now - flipped_t < BEND_AFTER_FLIP_S:
            return False
        return now - bent.t <= BEND_FRESH_S or slope <= BEND_PEAKED_C_PER_MIN

    def _follow(self, now: float, slope: float, celsius: float) -> None:
        """Note when the rise bent, and forget it once it grows again: after off it only falls."""
        self._slopes.append((now, slope))
        while self._slopes[0][0] < now - BEND_BACK_S:
            self._slopes.popleft()
        if self._bent is not None:
            self._bent.highest_c = max(self._bent.highest_c, celsius)
            self._bent.least = min(self._bent.least, slope)
            if slope > self._bent.least + BEND_GROWS_C_PER_MIN:
                self._forget()
            return
        before = [s for t, s in self._slopes if t <= now - BEND_WITHIN_S]
        steady = median(before) if before else 0.0
        if steady < BEND_STEADY_C_PER_MIN:
            return
        if slope <= min(BEND_SHARE * steady, steady - BEND_DROP_C_PER_MIN):
            self._bent = _Bend(now, slope, celsius)

    def _forget(self) -> None:
        """After a finding only a new steep rise can bend again."""
        if self._found is not None:
            self._slopes.clear()
        self._bent = None


@dataclass(slots=True)
class _Bend:
    """When the rise had bent, and since then the least rise and the hottest core."""

    t: float
    least: float
    highest_c: float

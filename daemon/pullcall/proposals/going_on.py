"""A cold steak's core starts to rise: it lies on the grate, and did so for a while."""

from __future__ import annotations

from collections import deque
from statistics import fmean

from pullcall.proposals.found import Found
from pullcall.proposals.rules import (
    ON_COLDEST_C,
    ON_FASTEST_S,
    ON_GATHERS,
    ON_LAG,
    ON_MEAN_S,
    ON_QUIET_C,
    ON_QUIET_S,
    ON_RISES_C,
    ON_SLOWEST_S,
)
from pullcall.proposals.trace import Trace

_WHY = "the core began to rise"


def going_on(trace: Trace) -> Found | None:
    """When the steak went on, from the gathering rise after a quiet level; None: no such thing.

    Heat needs a time d^2/a to reach a depth d (a: diffusivity), and every stage of the first
    rise takes its share of that time. So the time between two levels dates the beginning, for
    thick and thin steaks and for probes off the middle alike.
    """
    points = trace.points
    if len(points) < 8 or points[-1][1] - min(c for _, c in points) < ON_RISES_C[-1]:
        return None
    smooth = _smoothed(points)
    quiet = _quiet_level(trace)
    if quiet is None or quiet > ON_COLDEST_C:
        return None
    times = [_rose_past(smooth, quiet + rise) for rise in ON_RISES_C]
    first, second, third = times
    if first is None or second is None or third is None:
        return None
    apart = second - first
    if not ON_FASTEST_S <= apart <= ON_SLOWEST_S or third - second > ON_GATHERS * apart:
        return None
    happened = second - ON_LAG * apart
    then = trace.level(happened - ON_QUIET_S / 2.0, happened + ON_QUIET_S / 2.0)
    if then is None or abs(then - quiet) > ON_QUIET_C:
        return None
    return Found(round(happened, 1), _WHY)


def _smoothed(points: deque[tuple[float, float]]) -> list[tuple[float, float]]:
    """Trailing means over ``ON_MEAN_S``, each at the middle of its points."""
    found, begin = [], 0
    listed = list(points)
    for end in range(len(listed)):
        while listed[begin][0] <= listed[end][0] - ON_MEAN_S:
            begin += 1
        part = listed[begin : end + 1]
        found.append((fmean(t for t, _ in part), fmean(c for _, c in part)))
    return found


def _quiet_level(trace: Trace) -> float | None:
    """The lowest mean over ``ON_QUIET_S``; None while the readings are not that long."""
    lowest: float | None = None
    listed, begin = list(trace.points), 0
    for end in range(len(listed)):
        if listed[end][0] - listed[0][0] < ON_QUIET_S:
            continue
        while listed[begin][0] <= listed[end][0] - ON_QUIET_S - 1e-9:
            begin += 1
        mean = fmean(c for _, c in listed[begin : end + 1])
        lowest = mean if lowest is None else min(lowest, mean)
    return lowest


def _rose_past(smooth: list[tuple[float, float]], level: float) -> float | None:
    """When the level was passed for good, looking back from the newest; None: not passed."""
    if smooth[-1][1] < level:
        return None
    for (t, celsius), (later_t, later) in zip(smooth[-2::-1], smooth[:0:-1], strict=True):
        if celsius < level:
            return t + (later_t - t) * (level - celsius) / (later - celsius)
    return None

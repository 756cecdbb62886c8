"""Parts of a curve that another one of the same readings lacks."""

from __future__ import annotations

from bisect import bisect_left

Point = tuple[float, float]

#: A hole in a curve that is worth sending it anew: this long, seconds, or this share of it all.
_HOLE_S, _HOLE_SHARE = 10.0, 0.02


def differs(known: list[Point], now: list[Point]) -> bool:
    """Whether a curve has a part that the one known lacks, or the other way round."""
    if not known or not now:
        return bool(known) != bool(now)
    hole_s = max(_HOLE_S, _HOLE_SHARE * (now[-1][0] - now[0][0]))
    return _lacks(known, now, hole_s) or _lacks(now, known, hole_s)


def _lacks(one: list[Point], other: list[Point], hole_s: float) -> bool:
    """Whether a point of the other curve is farther than a hole from every one of these."""
    times = [t for t, _ in one]
    places = ((t, bisect_left(times, t)) for t, _ in other)
    return any(min(abs(t - near) for near in times[max(0, i - 1) : i + 1]) > hole_s
               for t, i in places)  # fmt: skip

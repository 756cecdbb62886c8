"""A steak's readings for drawing: bounded, thinned evenly as the cook grows longer."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

_MOST = 400


class Curve:
    """At most 400 points; when full, every second one goes and new ones come half as often.

    ``points`` are those of a curve that goes on here.
    """

    def __init__(self, points: Iterable[Sequence[float]] = ()) -> None:
        self._points = [(t, celsius) for t, celsius in points]
        self._spacing = _spacing_of(self._points)

    def add(self, t: float, celsius: float) -> None:
        """Add a reading, unless the last point kept is too near in time."""
        if self._points and t - self._points[-1][0] < self._spacing:
            return
        self._points.append((t, round(celsius, 2)))
        if len(self._points) >= _MOST:
            del self._points[1::2]
            self._spacing *= 2.0

    def points(self) -> list[tuple[float, float]]:
        """(t in cook seconds, Celsius), oldest first."""
        return list(self._points)


def _spacing_of(points: list[tuple[float, float]]) -> float:
    """How far apart points were kept: a power of two that no two of them are nearer than."""
    nearest = min((after[0] - before[0] for before, after in pairwise(points)), default=1.0)
    return 2.0 ** math.floor(math.log2(max(1.0, nearest)))

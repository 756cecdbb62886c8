"""Counts of values by size, as OpenMetrics has them."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from itertools import accumulate


class Histogram:
    """``bounds`` are upper limits, inclusive and rising; what lies above them all is counted too.

    Values below zero count as zero: a duration between two clocks may come out so by a hair.
    """

    def __init__(self, bounds: Sequence[float]) -> None:
        self.total = 0.0
        self._bounds = tuple(bounds)
        self._counts = [0] * (len(self._bounds) + 1)

    def observe(self, value: float) -> None:
        """Count one value."""
        value = max(value, 0.0)
        self._counts[bisect_left(self._bounds, value)] += 1
        self.total += value

    @property
    def count(self) -> int:
        """How many values there were."""
        return sum(self._counts)

    def buckets(self) -> list[tuple[float, int]]:
        """Each limit with how many values lay at or below it; the last limit is infinite."""
        limits = (*self._bounds, float("inf"))
        return list(zip(limits, accumulate(self._counts), strict=True))

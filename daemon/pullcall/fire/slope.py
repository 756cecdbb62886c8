"""A slope that a few bad points cannot turn."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def theil_sen(points: Sequence[tuple[float, float]]) -> float | None:
    """The median of the slopes between all pairs of ``(t, celsius)``, kelvin per second.

    Up to 29 % of the points may be wrong by any amount (Theil 1950, Sen 1968). None for fewer
    than two different times.
    """
    if len(points) < 2:
        return None
    t, celsius = np.array(points, dtype=float).T
    first, second = np.triu_indices(len(t), 1)
    apart = t[second] - t[first]
    told = apart > 0.0
    if not told.any():
        return None
    return float(np.median((celsius[second] - celsius[first])[told] / apart[told]))

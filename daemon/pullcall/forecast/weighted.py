"""Weighted members: quantiles and resampling, without chance."""

from __future__ import annotations

import numpy as np

from pullcall.events import Quantiles
from pullcall.forecast.slab import Array, Rows

#: A member's own spread enters as this many fixed standard normal points, evenly likely.
POINTS = np.array([-1.2816, -0.5244, 0.0, 0.5244, 1.2816])


def weights_of(log_weights: Array) -> Array:
    """Weights that add up to one, (M,)."""
    raised = np.exp(log_weights - log_weights.max())
    return np.asarray(raised / raised.sum())


def quantiles(values: Array, weights: Array, spread: Array | float, digits: int) -> Quantiles:
    """p10, p50, p90 of weighted ``values`` (M,), each with a normal ``spread`` (sd) of its own."""
    points = values[:, None] + np.asarray(spread).reshape(-1, 1) * POINTS[None, :]
    flat = points.ravel()
    shares = np.repeat(weights / len(POINTS), len(POINTS))
    order = np.argsort(flat, kind="stable")
    steps = np.cumsum(shares[order]) - 0.5 * shares[order]
    p10, p50, p90 = np.interp([0.1, 0.5, 0.9], steps, flat[order])
    return Quantiles(
        round(float(p10), digits), round(float(p50), digits), round(float(p90), digits)
    )


def resample(weights: Array, count: int) -> Rows:
    """``count`` members in proportion to their weights, evenly spaced, in order."""
    marks = (np.arange(count) + 0.5) / count
    rows = np.searchsorted(np.cumsum(weights), marks)
    return np.asarray(np.minimum(rows, len(weights) - 1), dtype=np.intp)

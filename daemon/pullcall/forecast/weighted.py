"""Weighted members: quantiles and resampling, without chance."""

from __future__ import annotations

import numpy as np

from pullcall.events import Quantiles
from pullcall.forecast.slab import Array, Rows

#: A member's own normal spread enters as three evenly likely points: the middles of its thirds.
POINTS = np.array([-0.967, 0.0, 0.967])


def weights_of(log_weights: Array) -> Array:
    """Weights that add up to one, (M,)."""
    raised = np.exp(log_weights - log_weights.max())
    return np.asarray(raised / raised.sum())


def quantiles(points: Array, weights: Array, digits: int) -> Quantiles:
    """p10, p50 and p90 of weighted values, (M,), or of evenly likely points of each, (M, P)."""
    flat = points.ravel()
    each = points.shape[1] if points.ndim == 2 else 1
    shares = np.repeat(weights / each, each)
    heard = shares > 1e-12  # what has no weight has no say between two that have
    flat, shares = flat[heard], shares[heard]
    order = np.argsort(flat, kind="stable")
    steps = np.cumsum(shares[order]) - 0.5 * shares[order]
    found = np.interp([0.1, 0.5, 0.9], steps, flat[order])
    return Quantiles(*(round(float(value), digits) for value in found))


def resample(weights: Array, count: int) -> Rows:
    """``count`` members in proportion to their weights, evenly spaced, in order."""
    marks = (np.arange(count) + 0.5) / count
    rows = np.searchsorted(np.cumsum(weights), marks)
    return np.asarray(np.minimum(rows, len(weights) - 1), dtype=np.intp)

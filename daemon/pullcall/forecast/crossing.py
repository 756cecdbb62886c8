"""When a fitted core crosses a level, and how sure that is."""

from __future__ import annotations

import numpy as np

from pullcall.events import Quantiles
from pullcall.forecast.rise_rate import LocalFit

#: Normal deviate of the 90th percentile.
Z90 = 1.2816
#: Unforeseen change of the rise (fire, lid, flips) as a random walk, K/s per square root of s.
WANDER = 4e-4
#: The horizon past which nothing is said, s.
FARTHEST_S = 1800.0


def time_to_level(fit: LocalFit, level_c: float) -> float | None:
    """Seconds from ``fit.at`` until ``level_c``, negative if passed; None if not foreseen.

    A slowing rise is carried on as an exponential approach (rise decays at the rate
    -curvature / rise), a growing one as the quadratic. Needs a rise above zero.
    """
    if fit.rise <= 0.0:
        return None
    left, decay = level_c - fit.core_c, -fit.curvature / fit.rise
    line = left / fit.rise
    if left <= 0.0 or abs(line * decay) < 1e-9:
        return line
    if decay < 0.0:
        return 2.0 * left / (fit.rise + float(np.sqrt(fit.rise**2 + 2.0 * fit.curvature * left)))
    if line * decay >= 1.0:
        return None
    return -float(np.log1p(-line * decay)) / decay


def rise_at(fit: LocalFit, ahead_s: float) -> float:
    """Rise in K/s ``ahead_s`` after ``fit.at``, carried on as in :func:`time_to_level`."""
    decay = -fit.curvature / fit.rise
    return (
        fit.rise * float(np.exp(-decay * ahead_s))
        if decay > 0
        else fit.rise + fit.curvature * ahead_s
    )


def crossing_sd(fit: LocalFit, ahead_s: float, wander: float = WANDER) -> float:
    """Standard deviation in s of a crossing ``ahead_s`` after ``fit.at``.

    The fit's own uncertainty carried to the crossing (for a straight line the Cramer-Rao form
    (sigma/b) sqrt(1/N + (t*-tbar)^2/Stt)), with the random walk of the rise added.
    """
    ahead = max(ahead_s, 0.0)
    reach = np.array([1.0, ahead_s, ahead_s**2 / 2])
    variance = float(reach @ fit.covariance @ reach) + wander**2 * ahead**3 / 3
    return float(np.sqrt(variance)) / max(rise_at(fit, ahead), 0.2 * fit.rise)


def quantiles_of(at_s: float, sd_s: float) -> Quantiles:
    """p10, p50 and p90 of a time ahead: never negative, skewed to the late side."""
    late = Z90 * sd_s
    if at_s <= 0.0:
        return Quantiles(0.0, 0.0, round(max(at_s + late, 0.0), 1))
    return Quantiles(round(at_s / (1.0 + late / at_s), 1), round(at_s, 1), round(at_s + late, 1))

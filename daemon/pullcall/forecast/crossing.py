"""When a fitted core crosses a level, and how sure that is."""

from __future__ import annotations

import numpy as np

from pullcall.events import Quantiles
from pullcall.forecast.rise_rate import LocalFit

#: Normal deviate of the 90th percentile.
Z90 = 1.2816
#: Unforeseen change of the rise (fire, lid, flips) as a random walk, K/s per square root of s.
WANDER = 2.5e-4
#: A bend may make the way to a level at most twice as long as the line's: this share of the
#: distance to where the rise would die out. Measured bends are too unsure to say "never".
FARTHEST_SHARE = 0.8
#: The horizon past which nothing is said, s.
FARTHEST_S = 1800.0
#: The end of the longest band, s.
LAST_S = 3600.0


def decay_of(fit: LocalFit, left_c: float) -> float:
    """Rate in 1/s at which the rise dies away (negative: grows) over the next ``left_c`` K."""
    return min(-fit.curvature / fit.rise, FARTHEST_SHARE * fit.rise / max(left_c, 1e-9))


def time_to_level(fit: LocalFit, level_c: float) -> float | None:
    """Seconds from ``fit.at`` until ``level_c``, negative if passed; None without a rise.

    A slowing rise is carried on as an exponential approach (the rise decays at the rate
    -curvature / rise), a growing one as the quadratic.
    """
    if fit.rise <= 0.0:
        return None
    left = level_c - fit.core_c
    decay, line = decay_of(fit, left), left / fit.rise
    if left <= 0.0 or abs(line * decay) < 1e-9:
        return line
    if decay < 0.0:
        return 2.0 * left / (fit.rise + float(np.sqrt(fit.rise**2 - 2.0 * decay * fit.rise * left)))
    return -float(np.log1p(-line * decay)) / decay


def rise_at_level(fit: LocalFit, level_c: float) -> float:
    """Rise in K/s where the core meets ``level_c``, carried on as in :func:`time_to_level`."""
    left = max(level_c - fit.core_c, 0.0)
    decay = decay_of(fit, left)
    if decay > 0.0:
        return fit.rise - decay * left
    return float(np.sqrt(fit.rise**2 - 2.0 * decay * fit.rise * left))


def crossing_sd(fit: LocalFit, level_c: float, ahead_s: float, wander: float = WANDER) -> float:
    """Standard deviation in s of meeting ``level_c`` in ``ahead_s`` seconds.

    The fit's own uncertainty carried to the crossing (for a straight line the Cramer-Rao form
    (sigma/b) sqrt(1/N + (t*-tbar)^2/Stt)), with the random walk of the rise added.
    """
    reach = np.array([1.0, ahead_s, ahead_s**2 / 2])
    variance = float(reach @ fit.covariance @ reach) + wander**2 * max(ahead_s, 0.0) ** 3 / 3
    return float(np.sqrt(variance)) / rise_at_level(fit, level_c)


def quantiles_of(at_s: float, sd_s: float) -> Quantiles:
    """p10, p50 and p90 of a time ahead: never negative, skewed to the late side."""
    late = Z90 * sd_s
    if at_s <= 0.0:
        return Quantiles(0.0, 0.0, round(min(max(at_s + late, 0.0), LAST_S), 1))
    early, last = at_s / (1.0 + late / at_s), max(min(at_s + late, LAST_S), at_s)
    return Quantiles(round(early, 1), round(at_s, 1), round(last, 1))

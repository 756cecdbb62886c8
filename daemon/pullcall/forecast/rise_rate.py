"""Robust local fit of the core's temperature: level, rise rate and curvature, with covariance.

The model is a local quadratic. Its curvature is shrunk toward the bend of a core that relaxes
toward a wet surface, dT/dt proportional to (SURFACE_C - T): the one-term solution of a heated
slab, whose rise slows as the core warms. Old readings are forgotten exponentially.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: A wet steak surface stays near boiling while it has water (common practice, no source).
SURFACE_C = 100.0
#: Prior sd of the curvature about the relaxing bend, K/s2: 0.36 K/min per minute.
CURVATURE_SD = 1e-4
#: Huber's constant: 95 % efficient for normal noise (Huber, Robust Statistics; from memory).
HUBER_K = 1.345
#: Beyond this many sd a reading is a spike and has no say at all.
SPIKE_SD = 6.0
#: Forgetting time at the reference noise (0.2 C, one reading a second), and its limits, s.
FORGETTING_S = 16.0
FORGETTING_LIMITS_S = (8.0, 30.0)
#: What is known of a rise beforehand, and its sd, K/s: any, short of a thrown probe.
ANY_RISE = (0.0, 10.0)
#: The least share an old reading keeps, so that a few far apart still make a line.
LEAST_WEIGHT = 1e-6
#: Iterations of reweighting, and the change of level (C) that ends them.
ROUNDS = 25
SETTLED_C = 1e-5
MEDIAN_TO_SIGMA = 1.4826


@dataclass(frozen=True, slots=True)
class LocalFit:
    """T(t) = core_c + rise (t - at) + curvature (t - at)^2 / 2, seconds and Celsius.

    ``covariance`` is that of (core_c, rise, curvature); ``span_s`` the window it rests on.
    """

    at: float
    core_c: float
    rise: float
    curvature: float
    covariance: Array
    span_s: float

    def moved(self, to: float) -> LocalFit:
        """The same curve with its origin at ``to``."""
        dt = to - self.at
        move = np.array([[1.0, dt, dt * dt / 2], [0.0, 1.0, dt], [0.0, 0.0, 1.0]])
        core, rise, curvature = move @ np.array([self.core_c, self.rise, self.curvature])
        covariance = move @ self.covariance @ move.T
        return LocalFit(to, float(core), float(rise), float(curvature), covariance, self.span_s)


def forgetting_s(sigma_c: float, every_s: float) -> float:
    """Forgetting time in s that balances noise against bend: (sigma^2 dt)^(1/5), limited."""
    scale = (sigma_c**2 * every_s / 0.2**2) ** 0.2
    return float(np.clip(FORGETTING_S * scale, *FORGETTING_LIMITS_S))


def fit_rise(
    t: Array,
    celsius: Array,
    sigma_c: float,
    forgetting: float,
    curvature_sd: float = CURVATURE_SD,
    surface_c: float = SURFACE_C,
) -> LocalFit:
    """Fit times ``t`` (s, rising, two or more) and ``celsius`` by reweighted least squares.

    ``sigma_c`` is the least scale of one reading's error; a larger scale of the residuals
    replaces it. Huber weights, with spikes rejected; origin at the last time.
    """
    since = t - t[-1]
    design = np.stack([np.ones_like(since), since, since**2 / 2], axis=1)
    age_weight = np.maximum(np.exp(since / forgetting), LEAST_WEIGHT)
    weight = age_weight * ~spikes(celsius, sigma_c)
    scale, bend, core = sigma_c, 0.0, np.inf
    usual, usual_sd = ANY_RISE
    for _ in range(ROUNDS):
        precision = design.T @ (weight[:, None] * design)
        right = design.T @ (weight * celsius)
        precision[2, 2] += (scale / curvature_sd) ** 2
        right[2] += (scale / curvature_sd) ** 2 * bend
        precision[1, 1] += (scale / usual_sd) ** 2
        right[1] += (scale / usual_sd) ** 2 * usual
        theta = np.linalg.solve(precision, right)
        if abs(theta[0] - core) < SETTLED_C:
            break
        core, bend = float(theta[0]), relaxing_bend(theta[0], theta[1], surface_c)
        residual = np.abs(celsius - design @ theta)
        scale = max(sigma_c, MEDIAN_TO_SIGMA * float(np.median(residual)))
        weight = age_weight * huber_weight(residual / scale)
    covariance = scale**2 * np.linalg.inv(precision)
    span = float(min(-since[0], 3.0 * forgetting))
    return LocalFit(
        float(t[-1]), float(theta[0]), float(theta[1]), float(theta[2]), covariance, span
    )


def relaxing_bend(core_c: float, rise: float, surface_c: float = SURFACE_C) -> float:
    """Curvature in K/s2 of a core relaxing toward ``surface_c``: -rise^2 / (surface - core)."""
    return -(max(float(rise), 0.0) ** 2) / max(surface_c - float(core_c), 5.0)


def huber_weight(deviation: Array) -> Array:
    """Weight of each reading by its deviation in sd: Huber, and none beyond SPIKE_SD."""
    weight = np.minimum(1.0, HUBER_K / np.maximum(deviation, 1e-9))
    if np.count_nonzero(deviation < SPIKE_SD) >= 2:
        weight = weight * (deviation < SPIKE_SD)
    return weight


def spikes(celsius: Array, sigma_c: float) -> NDArray[np.bool_]:
    """Which readings stand clear of the median of five around them."""
    if len(celsius) < 5:
        return np.zeros(len(celsius), dtype=bool)
    padded = np.pad(celsius, 2, mode="edge")
    around = np.median(np.lib.stride_tricks.sliding_window_view(padded, 5), axis=1)
    clear = np.abs(celsius - around) > 4.0 * sigma_c + 0.6
    return np.asarray(clear & (np.count_nonzero(~clear) >= 2))

"""What a probe showed, without its noise: a robust centred local fit through its readings."""

from __future__ import annotations

from itertools import pairwise
from statistics import median

import numpy as np
from numpy.typing import NDArray

from pullcall.forecast.noise import REMEMBERED, ProbeNoise
from pullcall.forecast.rise_rate import (
    MEDIAN_TO_SIGMA,
    Array,
    LocalFit,
    fit_rise,
    forgetting_s,
    huber_weight,
)
from pullcall.hindsight.facts import Trace

#: Half the window of a fit at the reference noise (0.2 C, one reading a second), s, and its
#: limits. Of 15 to 90 s this one had the least error of the crossing on the simulated cooks of
#: tests/forecast/cooks: noise and bend in balance.
HALF_S, HALF_LIMITS_S = 60.0, (15.0, 90.0)
#: Readings needed before and after a moment; no fit reaches over a longer silence, s.
FEWEST, LONGEST_GAP_S = 4, 45.0
#: A reading so far from the median of seven around it is a spike: sd of the noise, and C.
_SPIKE_SD, _SPIKE_C = 4.0, 0.6
_ROUNDS = 5


class Smooth:
    """Readings of one probe in one place, (t, Celsius) in time order; spikes are left out."""

    def __init__(self, readings: Trace) -> None:
        single = _one_a_moment(readings)
        kept = np.array(single, dtype=float).reshape(-1, 2)
        self.sigma_c = _noise_c(single)
        kept = kept[~_spikes(kept[:, 1], self.sigma_c)]
        self.t, self.celsius = kept[:, 0], kept[:, 1]
        self._every_s = float(np.median(np.diff(self.t))) if len(kept) > 1 else 1.0
        scale = (self.sigma_c**2 * max(self._every_s, 0.1) / 0.2**2) ** 0.2
        self._half_s = float(np.clip(HALF_S * scale, *HALF_LIMITS_S))

    def at(self, t: float) -> float | None:
        """Celsius at ``t``; None unless enough was heard before and after it."""
        near = self._around(t)
        if near is None:
            return None
        since, celsius = self.t[near] - t, self.celsius[near]
        half_s = max(self._half_s, float(np.abs(since).max()) * 1.05)
        nearness = np.asarray((1.0 - np.minimum(np.abs(since) / half_s, 1.0) ** 3) ** 3)
        design = np.stack([np.ones_like(since), since / half_s, (since / half_s) ** 2], axis=1)
        weight = nearness
        for _ in range(_ROUNDS):
            right = design.T @ (weight * celsius)
            theta = np.linalg.solve(design.T @ (weight[:, None] * design), right)
            off = np.abs(celsius - design @ theta)
            scale = max(self.sigma_c, MEDIAN_TO_SIGMA * float(np.median(off)))
            weight = nearness * huber_weight(off / scale)
        return float(theta[0])

    def over(self, times: Array) -> Array:
        """Celsius at each of ``times``, not a number where :meth:`at` gives None."""
        return np.array([np.nan if (c := self.at(float(t))) is None else c for t in times])

    def rise_until(self, t: float) -> LocalFit | None:
        """The rise as the readings up to ``t`` have it, to be carried on from the last of them."""
        upper = int(np.searchsorted(self.t, t, side="right"))
        lower = int(np.searchsorted(self.t, t - 2.0 * self._half_s))
        if upper - lower < 2 * FEWEST:
            return None
        forgetting = 2.0 * forgetting_s(self.sigma_c, self._every_s)
        near = slice(lower, upper)
        return fit_rise(self.t[near], self.celsius[near], self.sigma_c, forgetting)

    def _around(self, t: float) -> slice | None:
        """The readings of one fit: all in the window up to a long silence, and the fewest."""
        here = int(np.searchsorted(self.t, t))
        low = min(int(np.searchsorted(self.t, t - self._half_s)), here - FEWEST)
        high = max(int(np.searchsorted(self.t, t + self._half_s)), here + FEWEST)
        if low < 0 or high > len(self.t):
            return None
        silent = [i for i in range(low + 1, high) if self.t[i] - self.t[i - 1] > LONGEST_GAP_S]
        low = max([low, *(i for i in silent if i <= here)])
        high = min([high, *(i for i in silent if i >= here)])
        return slice(low, high) if here - low >= FEWEST and high - here >= FEWEST else None


def pieces(readings: Trace) -> list[Trace]:
    """The readings cut where the probe was moved, pulled out or changed: no meat does that."""
    if len(readings) < 2 * FEWEST:
        return [readings] if readings else []
    cuts = _jumps(np.array(readings, dtype=float))
    ends = [0, *cuts, len(readings)]
    return [readings[a:b] for a, b in pairwise(ends) if b - a >= FEWEST]


#: A core neither falls nor rises by so much, C, so fast, C/s, from four readings to the next four.
_FALL_C, _FALL_C_PER_S = 1.7, 0.3
_JUMP_C, _JUMP_C_PER_S = 2.8, 0.6


def _jumps(readings: Array) -> list[int]:
    """Where each jump begins: of readings that all look back on it, the one with most of it."""
    windows = np.lib.stride_tricks.sliding_window_view(readings, FEWEST, axis=0)
    middle = np.median(windows, axis=2)
    t, celsius = (middle[FEWEST:] - middle[:-FEWEST]).T
    rate = celsius / np.maximum(t, 1e-3)
    falls = (celsius < -_FALL_C) & (rate < -_FALL_C_PER_S)
    jumps = (celsius > _JUMP_C) & (rate > _JUMP_C_PER_S)
    found = np.flatnonzero(falls | jumps)
    runs = np.split(found, np.flatnonzero(np.diff(found) > 1) + 1) if len(found) else []
    return [cut + FEWEST for run in runs for cut in sorted({int(run[0]), int(run[-1])})]


def _one_a_moment(readings: Trace) -> Trace:
    """The first reading of each moment: a site that ran late stamps several with one time."""
    return tuple(
        later for before, later in pairwise([(-np.inf, 0.0), *readings]) if later[0] > before[0]
    )


def _noise_c(readings: Trace) -> float:
    """The sd of one reading: the middle of what each stretch of readings says."""
    noise, said = ProbeNoise(), list[float]()
    for number, (t, celsius) in enumerate(readings, start=1):
        noise.add(t, celsius)
        if number % REMEMBERED == 0:
            said.append(noise.sigma_c)
    return median(said) if said else noise.sigma_c


def _spikes(celsius: Array, sigma_c: float) -> NDArray[np.bool_]:
    """Which readings stand clear of the median of seven around them."""
    if len(celsius) < 7:
        return np.zeros(len(celsius), dtype=bool)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(celsius, 3, mode="edge"), 7)
    clear = np.abs(celsius - np.median(around, axis=1)) > _SPIKE_SD * sigma_c + _SPIKE_C
    return np.asarray(clear)

"""How long each step takes: its range, less what has passed, or what is forecast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pullcall.events import MarkKind, Quantiles
from pullcall.plan.day import Day, Key
from pullcall.plan.progress import Progress

#: One value per sample, so that thousands of days, or a short and a long one, run at once.
Seconds = NDArray[np.float64]

#: A forecast with a wider band than this, or than the usual range, knows less than the range
#: does (just after on): it waits its turn, seconds.
VAGUE_S = 300.0

#: Steps that run by themselves once their mark is made, so that time already passed counts.
_BEGUN_BY = {
    "cold": MarkKind.SEASONED,
    "light": MarkKind.LIT,
    "heat_up": MarkKind.POURED,
}


@dataclass(frozen=True, slots=True)
class Shares:
    """How far into its range (0 to 1) each step falls, in every sample; and the same for
    forecasts, as weights of p10, p50 and p90, shape (n, 3)."""

    of: Mapping[Key, Seconds]
    weights: Mapping[Key, NDArray[np.float64]]

    @classmethod
    def make(cls, of: Mapping[Key, Seconds]) -> Shares:
        """With the weights worked out."""
        return cls(of, {key: weights(share) for key, share in of.items() if key[0] == "cook"})


def weights(share: Seconds) -> NDArray[np.float64]:
    """How p10, p50 and p90 mix to the value at ``share`` of a forecast, shape (n, 3).

    The inverse distribution is drawn straight through the three, and each half goes on as
    straight beyond its last point: share 0 lies a quarter of p50 - p10 below p10.
    """
    p10 = np.where(share < 0.5, 1.25 - 2.5 * share, 0.0)
    p90 = np.where(share < 0.5, 0.0, 2.5 * share - 1.25)
    return np.stack([p10, 1.0 - p10 - p90, p90], axis=-1)


def spread(forecast: Quantiles, weights: NDArray[np.float64]) -> Seconds:
    """The forecast's value in every sample, never below zero."""
    mixed: Seconds = weights @ np.array([forecast.p10, forecast.p50, forecast.p90])
    return np.maximum(mixed, 0.0)


def lengths(
    day: Day, progress: Progress, now: float, shares: Shares, passing: bool = True
) -> dict[Key, Seconds]:
    """How long each step takes, seconds, in every sample.

    Of a step that runs, only the lengths not yet passed are left, each as likely as another;
    a range that has wholly passed ends now. A steak that is on takes what its forecast says
    (unless that is vaguer than the range), a steak that rests no less than its forecast asks
    for. Without ``passing`` the ranges of what runs stay whole, so that what is to be done next
    keeps its time instead of moving off; only a steak that is on is still not off before now.
    """
    return {key: _length(day, progress, now, shares, key, passing) for key in shares.of}


def _length(
    day: Day, progress: Progress, now: float, shares: Shares, key: Key, passing: bool
) -> Seconds:
    name, steak = key
    begun = _begun(progress, key)
    passed = -np.inf if begun is None else now - begun
    own = progress.steak(steak) if steak is not None else None
    range_ = day.takes(key)
    if name == "cook" and begun is not None and own is not None and own.pull_in_s is not None:
        band_s = own.pull_in_s.p90 - own.pull_in_s.p10
        if band_s <= max(VAGUE_S, range_.high_s - range_.low_s):
            return passed + spread(own.pull_in_s, shares.weights[key])
    low_s = range_.low_s
    if name == "rest" and begun is not None and own is not None and own.rest_in_s is not None:
        low_s = passed + own.rest_in_s
    if passing or name == "cook":
        low_s = max(low_s, passed)
    return low_s + shares.of[key] * (max(range_.high_s, low_s) - low_s)


def _begun(progress: Progress, key: Key) -> float | None:
    """When a step that runs was begun by its mark."""
    name, steak = key
    if name in _BEGUN_BY:
        return progress.done.get(_BEGUN_BY[name])
    if steak is None:
        return None
    own = progress.steak(steak)
    return own.on_t if name == "cook" else own.off_t

"""A figure of one cook, told from few cooks: what is usual counts until there is more to go by.

A cook's own mean is normal about what is usual (``between``); each cook is about that mean with
``within``, and Student's t in its tails, so that a cook who forgot to tap has little say.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

#: Degrees of freedom of the tails: a cook five spreads off counts for a sixth of a usual one.
_FREEDOM = 4.0
#: The mean is found by so many rounds of weighing; it settles well before.
_ROUNDS = 30
#: The spread that is assumed within cooks counts like that many cooks.
_ASSUMED_COOKS = 4.0


@dataclass(frozen=True, slots=True)
class Usual:
    """What is believed beforehand: the mean, and the spreads between cooks and within one."""

    mean: float
    between: float
    within: float


@dataclass(frozen=True, slots=True)
class Observed:
    """What one past cook showed. ``share`` (0 to 1) is how much it has to do with the next one,
    ``sd`` how unsure the figure itself is."""

    value: float
    share: float = 1.0
    sd: float = 0.0


@dataclass(frozen=True, slots=True)
class Estimate:
    """The cook's own ``mean``, how unsure it is (``sd``), the spread from cook to cook
    (``within``), and how much each observation had to say (0 to 1)."""

    mean: float
    sd: float
    within: float
    weights: tuple[float, ...]

    @property
    def next_sd(self) -> float:
        """How far the next cook may lie from the mean, sd."""
        return math.hypot(self.sd, self.within)


def estimate(observed: Sequence[Observed], usual: Usual) -> Estimate:
    """The cook's own mean, never surer than what was observed allows."""
    variances = [usual.within**2 + one.sd**2 for one in observed]
    mean = _median(observed, usual)
    weights = [0.0] * len(observed)
    for _ in range(_ROUNDS):
        weights = [
            one.share * _student((one.value - mean) ** 2 / variance)
            for one, variance in zip(observed, variances, strict=True)
        ]
        mean = _mean(observed, weights, variances, usual)
    sure = _precision(weights, variances, usual)
    return Estimate(mean, sure**-0.5, _within(observed, weights, mean, usual), tuple(weights))


def _student(squared: float) -> float:
    """At most one: a cook right in the middle is no surer than the spread says."""
    return min(1.0, (_FREEDOM + 1.0) / (_FREEDOM + squared))


def _median(observed: Sequence[Observed], usual: Usual) -> float:
    """Where to begin; what is usual is one of those asked."""
    asked = sorted([usual.mean, *(one.value for one in observed)])
    half = len(asked) // 2
    return asked[half] if len(asked) % 2 else 0.5 * (asked[half - 1] + asked[half])


def _mean(
    observed: Sequence[Observed], weights: Sequence[float], variances: Sequence[float], usual: Usual
) -> float:
    said = sum(
        weight * one.value / variance
        for one, weight, variance in zip(observed, weights, variances, strict=True)
    )
    pulled = usual.mean / usual.between**2 + said
    return pulled / _precision(weights, variances, usual)


def _precision(weights: Sequence[float], variances: Sequence[float], usual: Usual) -> float:
    told = sum(weight / variance for weight, variance in zip(weights, variances, strict=True))
    return usual.between**-2 + told


def _within(
    observed: Sequence[Observed], weights: Sequence[float], mean: float, usual: Usual
) -> float:
    """From cook to cook: what is assumed, and what was seen, less what the figures' own error
    explains; a lone cook says nothing of it."""
    heard = sum(weights)
    seen = sum(
        weight * max((one.value - mean) ** 2 - one.sd**2, 0.0)
        for one, weight in zip(observed, weights, strict=True)
    )
    if heard <= 1.0:
        return usual.within
    pooled = (_ASSUMED_COOKS * usual.within**2 + seen) / (_ASSUMED_COOKS + heard - 1.0)
    return max(math.sqrt(pooled), usual.within / 2.0)

"""Forecasts held against what came: proper scores of three quantiles, lower is better.

The quantile CRPS is twice the mean pinball loss over the levels given, as the Python package
scoringrules has it (``crps_quantile``); the interval score is that of Gneiting and Raftery,
"Strictly Proper Scoring Rules, Prediction, and Estimation", JASA 102 (2007), eq. 43. Tests hold
both against that package.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pullcall.events import Forecast, Quantiles
from pullcall.hindsight.facts import LeadScore, PeakScore

#: What p10, p50 and p90 are.
LEVELS = (0.1, 0.5, 0.9)
#: The share of truths that a band from p10 to p90 is meant to hold.
HELD = 0.8
#: A pull is looked at this long before the core truly crosses, and a peak this long after off, s.
LEADS_S = (120.0, 60.0, 40.0, 20.0)
AFTER_OFF_S = (0.0, 60.0)
#: Forecasts come every second; one farther than this from the moment meant does not count, s.
_NEAR_S = 1.5


def pinball(level: float, told: float, truth: float) -> float:
    """The loss of one quantile, in the unit of the figure."""
    return level * (truth - told) if truth >= told else (1.0 - level) * (told - truth)


def crps(told: Quantiles, truth: float) -> float:
    """The CRPS as three quantiles approximate it, in the unit of the figure."""
    figures = (told.p10, told.p50, told.p90)
    losses = [pinball(level, q, truth) for level, q in zip(LEVELS, figures, strict=True)]
    return 2.0 * sum(losses) / len(losses)


def interval_score(low: float, high: float, truth: float) -> float:
    """The width of an 80 % band, and ten times what the truth lies outside it."""
    outside = max(low - truth, truth - high, 0.0)
    return (high - low) + 2.0 / (1.0 - HELD) * outside


def lead_scores(told: Sequence[Forecast], cross_t: float) -> Iterator[LeadScore]:
    """The forecasts of the pull at each lead before ``cross_t`` (cook s); missing ones left out."""
    for lead_s in LEADS_S:
        forecast = _nearest(told, cross_t - lead_s)
        if forecast is None or (pull := forecast.pull_in_s) is None:
            continue
        left_s = cross_t - forecast.t
        yield LeadScore(
            lead_s=lead_s,
            t=forecast.t,
            pull_in_s=pull,
            true_in_s=left_s,
            crps_s=crps(pull, left_s),
            interval_s=interval_score(pull.p10, pull.p90, left_s),
        )


def peak_scores(told: Sequence[Forecast], off_t: float, peak_c: float) -> Iterator[PeakScore]:
    """The forecasts of the peak at off and later; those made before off do not count."""
    resting = [forecast for forecast in told if forecast.peak_in_s is not None]
    for after_s in AFTER_OFF_S:
        forecast = _nearest(resting, off_t + after_s)
        if forecast is not None and (peak := forecast.peak_c) is not None:
            yield PeakScore(after_s, forecast.t, peak, peak_c, crps(peak, peak_c))


def _nearest(told: Sequence[Forecast], t: float) -> Forecast | None:
    """The forecast made nearest to ``t``, where one was made then."""
    nearest = min(told, key=lambda forecast: abs(forecast.t - t), default=None)
    return nearest if nearest is not None and abs(nearest.t - t) <= _NEAR_S else None

"""How often the p10-p90 bands hold the truth, over a fixed set of simulated cooks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import pytest

from pullcall.events import Forecast, Mark, Quantiles, Reading, Setting, Spot
from pullcall.forecast.engine import ForecastEngine
from tests.forecast.cooks.simulated import KnownCook, Truth, copied_cooks, own_cooks

LEADS = (120.0, 60.0, 40.0, 20.0)
AT_THE_PULL, INTO_THE_REST = "peak at the pull", "peak a minute into the rest"
WHAT = (*(f"pull at {lead:g} s" for lead in LEADS), AT_THE_PULL, INTO_THE_REST)
#: A band of 80 % holds 70 to 90 % of the truths: a little over one sd of what chance does with
#: 24 steaks.
LEAST, MOST = 0.70, 0.90


@dataclass(frozen=True, slots=True)
class Held:
    """One forecast against the truth: what was forecast, error of p50, whether p10-p90 held it."""

    what: str
    error: float
    is_inside: bool


def looks(truth: Truth) -> Iterator[tuple[float, str]]:
    """When to look at a steak, and for what."""
    for lead, what in zip(LEADS, WHAT, strict=False):
        if truth.cross_s - lead <= truth.pull_s:
            yield truth.cross_s - lead, what
    yield truth.pull_s, AT_THE_PULL
    yield truth.pull_s + 60.0, INTO_THE_REST


def forecasts(cook: KnownCook) -> Iterator[tuple[Truth, str, Forecast]]:
    """Every forecast that is scored, from nothing later than its own time."""
    engine = ForecastEngine(cook.header)
    due = sorted((t, what, truth.steak) for truth in cook.truths for t, what in looks(truth))
    truths = {truth.steak: truth for truth in cook.truths}
    for event in cook.events:
        while due and due[0][0] < event.t:
            t, what, steak = due.pop(0)
            yield truths[steak], what, engine.forecast(steak, t)
        assert isinstance(event, Reading | Spot | Mark | Setting)
        engine.update(event)
    assert not due


def held(truth: Truth, what: str, forecast: Forecast) -> Held:
    if what.startswith("pull"):
        return judged(what, forecast.pull_in_s, truth.cross_s - forecast.t)
    return judged(what, forecast.peak_c, truth.peak_c)


def judged(what: str, said: Quantiles | None, truth: float) -> Held:
    assert said is not None
    return Held(what, said.p50 - truth, said.p10 <= truth <= said.p90)


@cache
def scores(whose: str) -> tuple[Held, ...]:
    cooks = own_cooks() if whose == "own" else copied_cooks()
    return tuple(held(*found) for cook in cooks for found in forecasts(cook))


def coverage(whose: str, what: str) -> float:
    mine = [score for score in scores(whose) if score.what == what]
    assert len(mine) >= 20
    return sum(score.is_inside for score in mine) / len(mine)


@pytest.mark.parametrize("what", WHAT)
def test_the_band_holds_the_truth_as_often_as_it_says(what: str) -> None:
    assert LEAST <= coverage("copied", what) <= MOST


@pytest.mark.parametrize("what", WHAT)
def test_the_band_is_wide_enough_for_meat_that_cooks_otherwise(what: str) -> None:
    """The project's own steaks conduct less than those the prior came from."""
    assert coverage("own", what) >= LEAST

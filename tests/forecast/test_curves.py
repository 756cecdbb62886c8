"""Curves made by hand, which no slab would give: what is told of them must still make sense."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from pullcall.events import Forecast
from tests.forecast.cooks.small import ONE, PULL_C, by_hand, told

#: Nothing is planned, and the steak starts at 5 C.
HEADER = replace(ONE.header(), plan=(), steaks=(replace(ONE.header().steaks[0], start_c=5.0),))
Curve = Callable[[float], float]
#: No core of a steak on a grate is known to rise faster (common practice, no source), C/s.
FASTEST = 20.0 / 60.0


def straight(t: float) -> float:
    return 5.0 + 0.075 * t


def s_shaped(t: float) -> float:
    return 5.0 + 55.0 / (1.0 + math.exp(-(t - 400.0) / 90.0))


def stalled(t: float) -> float:
    return 5.0 + 40.0 * -math.expm1(-t / 200.0)


def falling(t: float) -> float:
    return 5.0 + 0.1 * t if t < 400.0 else 45.0 - 0.05 * (t - 400.0)


def crosses(curve: Curve) -> float:
    times = np.arange(0.0, 900.0, 0.1)
    return float(next(t for t in times if curve(float(t)) >= PULL_C))


def said(curve: Curve, times: list[float]) -> list[Forecast]:
    return told(HEADER, by_hand(curve, 900.0), times)


def pull(forecast: Forecast) -> float:
    assert forecast.pull_in_s is not None
    return forecast.pull_in_s.p50


@pytest.mark.parametrize("curve", [straight, s_shaped])
@pytest.mark.parametrize("lead", [60.0, 40.0, 20.0])
def test_a_rise_that_goes_on_is_forecast_within_a_quarter(curve: Curve, lead: float) -> None:
    forecast = said(curve, [crosses(curve) - lead])[0]
    assert pull(forecast) == pytest.approx(lead, rel=0.25, abs=2.0)


def test_where_the_meat_bends_away_the_band_still_holds_most() -> None:
    for curve in (straight, s_shaped):
        for lead in (180.0, 120.0):
            found = said(curve, [crosses(curve) - lead])[0].pull_in_s
            assert found is not None
            slack = found.p90 - found.p10
            assert found.p10 - slack <= lead <= found.p90 + slack


@pytest.mark.parametrize("curve", [straight, s_shaped, stalled, falling])
def test_a_pull_is_never_in_the_past_nor_sooner_than_any_steak_could_be(curve: Curve) -> None:
    for forecast in said(curve, [float(t) for t in range(60, 890, 10)]):
        if forecast.pull_in_s is None:
            assert forecast.why
            continue
        assert 0.0 <= forecast.pull_in_s.p10 <= forecast.pull_in_s.p50 <= forecast.pull_in_s.p90
        # Two degrees for what the filter smooths and where the tip may be.
        missing = PULL_C - curve(forecast.t) - 2.0
        assert forecast.pull_in_s.p10 >= missing / FASTEST


@pytest.mark.parametrize("curve", [straight, s_shaped, stalled, falling])
def test_the_core_follows_the_readings_closely(curve: Curve) -> None:
    for forecast in said(curve, [float(t) for t in range(60, 890, 30)]):
        assert forecast.core_c == pytest.approx(curve(forecast.t), abs=0.8)


def test_a_stalled_core_is_not_called_soon() -> None:
    for forecast in said(stalled, [500.0, 600.0, 700.0, 800.0, 880.0]):
        # It misses nine degrees or more and gains less than two a minute.
        assert forecast.pull_in_s is None or forecast.pull_in_s.p50 > 240.0


def test_a_falling_core_is_not_called_soon_and_is_said_to_cool() -> None:
    found = said(falling, [500.0, 560.0, 620.0, 700.0, 800.0])
    assert any("cools" in (forecast.note or "") for forecast in found)
    for forecast in found:
        assert forecast.pull_in_s is None or forecast.pull_in_s.p50 > 240.0


def test_past_the_pull_temperature_it_is_told_as_now() -> None:
    for curve in (straight, s_shaped):
        forecast = said(curve, [crosses(curve) + 15.0])[0]
        assert pull(forecast) == 0.0
        assert forecast.pull_in_s is not None
        assert forecast.pull_in_s.p90 < 5.0


@pytest.mark.parametrize("stretch", [1.5, 0.8])
def test_other_meat_that_cooks_slower_or_faster_is_followed_too(stretch: float) -> None:
    def curve(t: float) -> float:
        return s_shaped(t / stretch)

    forecast = said(curve, [crosses(curve) - 60.0])[0]
    assert pull(forecast) == pytest.approx(60.0, rel=0.25)

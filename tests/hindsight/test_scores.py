"""The scores against the package scoringrules, and against values that can be worked by hand."""

from __future__ import annotations

import pytest
import scoringrules
from hypothesis import given
from hypothesis import strategies as st

from pullcall.events import Forecast, Quantiles
from pullcall.hindsight.scores import (
    LEVELS,
    crps,
    interval_score,
    lead_scores,
    peak_scores,
    pinball,
)

FIGURE = st.floats(-1e3, 1e3)
THREE = st.lists(FIGURE, min_size=3, max_size=3).map(lambda figures: Quantiles(*sorted(figures)))
BAND = Quantiles(30.0, 40.0, 55.0)


def told(t: float, pull: Quantiles | None = BAND) -> Forecast:
    return Forecast(t, "left", pull, None)


def resting(t: float, peak: Quantiles) -> Forecast:
    return Forecast(t, "left", None, peak, peak_in_s=60.0)


@given(THREE, FIGURE)
def test_the_crps_is_that_of_the_package_scoringrules(quantiles: Quantiles, truth: float) -> None:
    figures = [quantiles.p10, quantiles.p50, quantiles.p90]
    theirs = float(scoringrules.crps_quantile(truth, figures, LEVELS))
    assert crps(quantiles, truth) == pytest.approx(theirs, rel=1e-12, abs=1e-12)


@given(THREE, FIGURE)
def test_the_interval_score_is_that_of_the_package_scoringrules(
    quantiles: Quantiles, truth: float
) -> None:
    theirs = float(scoringrules.interval_score(truth, quantiles.p10, quantiles.p90, 0.2))
    assert interval_score(quantiles.p10, quantiles.p90, truth) == pytest.approx(
        theirs, rel=1e-12, abs=1e-9
    )


def test_a_ninth_decile_two_too_low_costs_nine_tenths_of_it() -> None:
    """Pinball loss, Koenker and Bassett, Econometrica 46 (1978): 0.9 x (10 - 8)."""
    assert pinball(0.9, 8.0, 10.0) == pytest.approx(1.8)
    assert pinball(0.9, 10.0, 8.0) == pytest.approx(0.2)


def test_a_truth_one_outside_an_80_percent_band_costs_its_width_and_ten() -> None:
    """Interval score of [0, 4] at alpha 0.2 for 5: 4 + 2 / 0.2 x 1 (Gneiting and Raftery 2007)."""
    assert interval_score(0.0, 4.0, 5.0) == pytest.approx(14.0)
    assert interval_score(0.0, 4.0, 3.0) == pytest.approx(4.0)


def test_the_best_a_forecast_can_do_is_to_be_sure_and_right() -> None:
    assert crps(Quantiles(7.0, 7.0, 7.0), 7.0) == 0.0


def test_a_lead_is_scored_by_the_forecast_made_then() -> None:
    scores = list(lead_scores([told(t) for t in range(700)], cross_t=600.4))
    assert [(s.lead_s, s.t) for s in scores] == [(120, 480), (60, 540), (40, 560), (20, 580)]
    forty = scores[2]
    assert forty.true_in_s == pytest.approx(40.4)
    assert forty.error_s == pytest.approx(-0.4)
    assert forty.is_covered
    assert not scores[3].is_covered


def test_a_lead_at_which_nothing_could_be_told_is_left_out() -> None:
    steady = [told(t) for t in range(545)]
    silent = [told(t, None) for t in range(545, 575)]
    scores = list(lead_scores([*steady, *silent], cross_t=600.0))
    assert [score.lead_s for score in scores] == [120, 60]


def test_a_peak_told_while_on_the_grate_is_no_score_of_the_rest() -> None:
    on = [Forecast(t, "left", BAND, Quantiles(50, 51, 52)) for t in range(590, 600)]
    off = [resting(t, Quantiles(56, 57, 58)) for t in range(601, 700)]
    scores = list(peak_scores([*on, *off], off_t=600.0, peak_c=57.5))
    assert [(s.after_off_s, s.t) for s in scores] == [(0, 601), (60, 660)]
    assert scores[0].error_c == pytest.approx(-0.5)
    assert all(score.is_covered for score in scores)

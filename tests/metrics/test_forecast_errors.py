"""Forecasts held against the crossing as soon as a core has crossed."""

from __future__ import annotations

from functools import cache

import pytest

from pullcall.core.cook import Cook
from pullcall.events import Forecast, Input, Mark, MarkKind, Quantiles, Setting
from pullcall.hindsight.facts import LeadScore
from pullcall.hindsight.study import study
from pullcall.log.cook_file import cook_lines, parse_cook_lines
from pullcall.metrics.forecast_errors import ForecastErrors
from tests.cooks import HEADER, in_time_order, off, on, rising

PULL_C = 54.0


def told(t: float, left_s: float, bias_s: float = 0.0, pull_c: float | None = PULL_C) -> Forecast:
    """A core that rises by a tenth of a degree a second, forecast ``bias_s`` too late."""
    pull = left_s + bias_s
    band = Quantiles(max(pull - 5.0, 0.0), max(pull, 0.0), max(pull + 5.0, 0.0))
    core_c = PULL_C - left_s / 10.0
    in_s = None if pull_c is None else band
    return Forecast(t, "left", in_s, None, core_c=round(core_c, 3), pull_c=pull_c)


def follow(errors: ForecastErrors, cross_t: float, bias_s: float, since: float = 0.0) -> None:
    """A cook on whole seconds, until the core crossed."""
    for t in range(round(since), round(cross_t) + 3):
        errors.follow(None, [told(float(t), cross_t - t, bias_s)])


def by_lead(errors: ForecastErrors) -> dict[float, float]:
    return {score.lead_s: round(score.error_s, 2) for _, score in errors.errors()}


def test_nothing_is_told_before_the_core_has_crossed() -> None:
    errors = ForecastErrors()
    for t in range(200):
        errors.follow(None, [told(float(t), 200.5 - t)])
    assert by_lead(errors) == {}


def test_a_forecast_that_came_late_has_a_positive_error_at_every_lead() -> None:
    errors = ForecastErrors()
    follow(errors, 200.5, bias_s=3.0)
    assert by_lead(errors) == {120.0: 3.0, 60.0: 3.0, 40.0: 3.0, 20.0: 3.0}
    assert set(errors.judged.values()) == {1}
    assert set(errors.inside.values()) == {1}


def test_a_band_that_missed_is_judged_and_not_inside() -> None:
    errors = ForecastErrors()
    follow(errors, 200.5, bias_s=-7.0)
    assert by_lead(errors)[40.0] == -7.0
    assert set(errors.judged.values()) == {1}
    assert set(errors.inside.values()) == {0}


def test_a_lead_before_the_first_forecast_is_left_out() -> None:
    errors = ForecastErrors()
    follow(errors, 200.5, bias_s=1.0, since=150)
    assert set(by_lead(errors)) == {40.0, 20.0}


def test_a_core_that_trembles_about_its_pull_crosses_once() -> None:
    errors = ForecastErrors()
    follow(errors, 200.5, bias_s=1.0)
    follow(errors, 206.5, bias_s=9.0, since=204)
    assert by_lead(errors)[40.0] == 1.0
    assert errors.judged[40.0] == 1


def test_a_core_that_was_hot_from_the_start_never_crossed() -> None:
    errors = ForecastErrors()
    for t in range(60):
        errors.follow(None, [told(float(t), -1.0)])
    assert by_lead(errors) == {}


def test_a_steak_pulled_a_little_early_crosses_while_the_heat_is_on_its_way() -> None:
    errors = ForecastErrors()
    for t in range(204):
        is_on = t < 195
        errors.follow(None, [told(float(t), 200.5 - t, pull_c=PULL_C if is_on else None)])
    assert set(by_lead(errors)) == {120.0, 60.0, 40.0, 20.0}


def test_a_crossing_long_after_off_is_the_carry_over_and_no_pull() -> None:
    errors = ForecastErrors()
    for t in range(204):
        is_on = t < 185
        errors.follow(None, [told(float(t), 200.5 - t, pull_c=PULL_C if is_on else None)])
    assert by_lead(errors) == {}


@pytest.mark.parametrize("steak", ["left", None])
def test_forecasts_of_another_aim_say_nothing_of_this_one(steak: str | None) -> None:
    errors = ForecastErrors()
    for t in range(150):
        errors.follow(None, [told(float(t), 200.5 - t)])
    errors.follow(Setting(149.5, steak, "shift_c", 0.5), ())
    follow(errors, 200.5, bias_s=1.0, since=150)
    assert set(by_lead(errors)) == {40.0, 20.0}


def test_another_look_changes_nothing() -> None:
    errors = ForecastErrors()
    for t in range(150):
        errors.follow(None, [told(float(t), 200.5 - t)])
    errors.follow(Setting(149.5, "left", "look", "thick fat cap"), ())
    follow(errors, 200.5, bias_s=1.0, since=150)
    assert 120.0 in by_lead(errors)


def test_a_setting_after_off_does_not_take_back_what_was_found() -> None:
    errors = ForecastErrors()
    follow(errors, 200.5, bias_s=1.0)
    errors.follow(None, [told(205.0, -4.5, pull_c=None)])
    errors.follow(Setting(205.5, "left", "pull_c", 50.0), ())
    assert 40.0 in by_lead(errors)


def test_a_steak_that_goes_on_once_more_begins_anew() -> None:
    errors = ForecastErrors()
    follow(errors, 200.5, bias_s=1.0)
    errors.follow(Mark(300.0, "left", MarkKind.ON, "again"), ())
    assert by_lead(errors) == {}
    follow(errors, 500.5, bias_s=2.0, since=300)
    assert by_lead(errors)[40.0] == 2.0
    assert errors.judged[40.0] == 2


def test_another_cook_knows_nothing_of_the_last_but_the_counts() -> None:
    errors = ForecastErrors()
    follow(errors, 200.5, bias_s=1.0)
    errors.begin_cook()
    assert by_lead(errors) == {}
    assert errors.judged[40.0] == 1


def test_a_long_cook_keeps_two_minutes_of_forecasts() -> None:
    errors = ForecastErrors()
    for t in range(3600):
        errors.follow(None, [told(float(t), 4000.0 - t)])
    assert len(errors._pulls["left"]._told) <= 130


#: The left core rises by a sixth of a degree a second and comes off just before 53.9 C.
EVENTS = in_time_order(
    [on(0.1), off(292.0, "left"), off(306.0, "right")],
    rising("left", 0.2, 300.0, 5.0, 1.0 / 6.0),
    rising("right", 0.3, 320.0, 5.0, 1.0 / 6.1),
)


@cache
def live() -> tuple[ForecastErrors, dict[tuple[str, float], LeadScore]]:
    """A whole cook followed as it goes."""
    cook, errors = Cook(HEADER), ForecastErrors()
    for event in EVENTS:
        effects = cook.apply(event)
        errors.follow(event, effects)
    return errors, {(steak, score.lead_s): score for steak, score in errors.errors()}


def test_the_errors_of_a_whole_cook_agree_with_its_study() -> None:
    """Which knows the readings after the crossing too: within three seconds, as of its truth."""
    inputs: list[Input] = list(EVENTS)
    facts = study(parse_cook_lines(cook_lines(HEADER, inputs)))
    found = {(s.steak, lead.lead_s): lead for s in facts.steaks for lead in s.leads}
    _, told_live = live()
    assert found.keys() == told_live.keys()
    assert len(found) == 8
    for key, lead in found.items():
        assert told_live[key].error_s == pytest.approx(lead.error_s, abs=3.0)


def test_each_lead_of_both_steaks_is_judged_once() -> None:
    errors, _ = live()
    assert set(errors.judged.values()) == {2}

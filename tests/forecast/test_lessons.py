"""What earlier cooks taught, as the forecast takes it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.core.cook import Cook
from pullcall.events import (
    CarryOver,
    CookHeader,
    Forecast,
    Lessons,
    Mark,
    MarkKind,
    Normal,
    Quantiles,
)
from pullcall.forecast.engine import ForecastEngine
from pullcall.forecast.outlook import widened
from pullcall.forecast.prior import FIRE, STEAK, draw, taught_prior
from pullcall.learning.choice import Choice, Mode
from pullcall.learning.learn import learn, taught
from tests.cooks import ONE as BY_HAND
from tests.cooks import in_time_order, off, on, rising
from tests.forecast.cooks.small import ONE, cooked, crossing, told

AS_USUAL = {unknown.name: Normal(unknown.mean, unknown.sd) for unknown in (*FIRE, *STEAK)}
TARGET_C = 57.0


def header(lessons: Lessons) -> CookHeader:
    return replace(ONE.header(), lessons=lessons)


def ahead(lessons: Lessons, *leads_s: float) -> list[Forecast]:
    """The forecasts so long before the crossing."""
    times = sorted(crossing(ONE) - lead for lead in leads_s)
    return told(header(lessons), cooked(ONE)[0], times)


def test_a_prior_that_says_what_is_usual_changes_no_byte_of_a_cook() -> None:
    events = in_time_order([on(0.1), off(320.0)], rising("left", 0.2, 400.0, 5.0, 0.16))
    effects = []
    for lessons in (Lessons(), Lessons(prior=AS_USUAL)):
        cook = Cook(replace(BY_HAND, lessons=lessons))
        effects.append([repr(effect) for event in events for effect in cook.apply(event)])
    assert effects[0] == effects[1] != []


@pytest.mark.parametrize(
    "prior",
    [
        {"strange": Normal(1.0, 1.0)},
        {"hot_level": Normal(1e6, 1.0)},
        {"hot_level": Normal(122.0, 0.0)},
        {"lag": Normal(2.0, -1.0)},
        {"diffusivity": Normal(float("nan"), 0.2)},
        {"diffusivity": Normal(-15.0, float("inf"))},
    ],
)
def test_what_no_log_can_mean_is_left_out(prior: dict[str, Normal]) -> None:
    assert taught_prior(prior) == ()


def test_a_taught_prior_moves_and_narrows_the_same_members() -> None:
    usual, moved = draw(0), draw(0, taught_prior({"hot_level": Normal(132.0, 5.5)}))
    assert moved["hot_level"] == pytest.approx(132.0 + (usual["hot_level"] - 122.0) / 2.0)
    assert (moved["lag"] == usual["lag"]).all()


def test_a_hotter_fire_taught_is_forecast_to_pull_sooner() -> None:
    (usual,), (hot,) = (
        ahead(Lessons(prior=prior), crossing(ONE) - 80.0)
        for prior in ({}, {"hot_level": Normal(150.0, 4.0)})
    )
    assert usual.pull_in_s is not None and hot.pull_in_s is not None
    assert hot.pull_in_s.p50 < usual.pull_in_s.p50 - 20.0


def test_cooks_that_were_taught_otherwise_stay_apart() -> None:
    """The modes of the slabs are kept from cook to cook."""
    before = ahead(Lessons(), 60.0)
    other = ahead(Lessons(prior={"diffusivity": Normal(-15.9, 0.1)}), 60.0)
    assert ahead(Lessons(), 60.0) == before != other


def test_a_taught_climb_shifts_peak_and_aim_but_no_pull() -> None:
    usual, more = (ahead(Lessons(climb_c=by), 30.0)[0] for by in (0.0, 0.8))
    assert usual.peak_c and more.peak_c and usual.aim_c and more.aim_c
    assert more.peak_c.p50 - usual.peak_c.p50 == pytest.approx(0.8, abs=0.02)
    assert usual.aim_c.p50 - more.aim_c.p50 == pytest.approx(0.8, abs=0.02)
    assert more.pull_in_s == usual.pull_in_s


def test_the_five_degree_rule_stays_five_degrees() -> None:
    plain = replace(header(Lessons(climb_c=0.8)), carry_over=CarryOver.FIVE_DEGREES)
    found = told(plain, cooked(ONE)[0], [crossing(ONE) - 30.0])[0]
    assert found.aim_c is not None
    assert found.aim_c.p50 == pytest.approx(TARGET_C - 5.0 / 1.8, abs=0.05)


def test_a_taught_climb_gives_way_to_the_rests_own_readings() -> None:
    pull_s = cooked(ONE)[1]["left"].pull_s
    assert pull_s is not None
    times = [pull_s + 1.0, pull_s + 100.0]
    usual, more = (told(header(Lessons(climb_c=by)), cooked(ONE)[0], times) for by in (0.0, 1.0))
    gained = [
        b.peak_c.p50 - a.peak_c.p50
        for a, b in zip(usual, more, strict=True)
        if a.peak_c and b.peak_c
    ]
    assert gained[0] == pytest.approx(1.0, abs=0.05)
    assert 0.0 < gained[1] < 0.6


def test_a_taught_band_widens_about_the_middle() -> None:
    usual, wide, narrow = (ahead(Lessons(band=b), 60.0)[0].pull_in_s for b in (1.0, 1.5, 0.5))
    assert usual and wide and narrow
    assert usual.p50 == wide.p50 == narrow.p50
    assert wide.p90 - wide.p50 == pytest.approx(1.5 * (usual.p90 - usual.p50), abs=0.11)
    assert narrow.p50 - narrow.p10 == pytest.approx(0.5 * (usual.p50 - usual.p10), abs=0.11)


def test_a_widened_band_never_lies_in_the_past() -> None:
    assert widened(Quantiles(2.0, 5.0, 9.0), 3.0) == Quantiles(0.0, 5.0, 17.0)


@pytest.mark.parametrize("own_c", [2.8, 4.5])
def test_an_own_climb_given_before_any_cook_ends_as_that_climb(own_c: float) -> None:
    """At off, and ahead of it: whatever would be forecast of this steak."""
    usual = header(Lessons())
    choice = Choice("", "carry_over", Mode.OWN, own_c)
    begun = taught(usual, learn([], usual, (choice,)))
    pull_s = cooked(ONE)[1]["left"].pull_s
    assert pull_s is not None
    times = [crossing(ONE) - 30.0, pull_s + 0.5]
    before, at_off = told(begun, cooked(ONE)[0], times)
    plain = told(usual, cooked(ONE)[0], times)[-1]
    assert before.peak_c and at_off.peak_c and plain.peak_c
    assert before.pull_c is not None and at_off.core_c is not None and plain.core_c is not None
    assert before.peak_c.p50 - before.pull_c == pytest.approx(own_c, abs=0.1)
    assert at_off.peak_c.p50 - at_off.core_c == pytest.approx(own_c, abs=0.2)
    assert abs(plain.peak_c.p50 - plain.core_c - own_c) > 0.4, "or nothing would be shown"


def test_an_own_climb_is_not_counted_as_what_the_forecast_said() -> None:
    engines = [ForecastEngine(header(Lessons(own_climb_c=own))) for own in (None, 6.0)]
    for event in cooked(ONE)[0]:
        for engine in engines:
            engine.update(event)
        if isinstance(event, Mark) and event.mark is MarkKind.OFF:
            break
    plain, own = (engine.forecast("left", event.t).peak_c for engine in engines)
    assert plain and own
    assert engines[0].climbs_more_c("left") == 0.0
    assert engines[1].climbs_more_c("left") == pytest.approx(own.p50 - plain.p50, abs=0.05)

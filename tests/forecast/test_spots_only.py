"""Two steaks without a probe: marks and two or three hand-held spots give each a forecast."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.events import Forecast, MarkKind, Spot
from tests.forecast.cooks.small import SPOTS, Event, cooked, crossing, told, without

EVENTS, HEADER = cooked(SPOTS)[0], SPOTS.header()
#: When the spots are taken, s.
FIRST_S, SECOND_S, THIRD_S = 400.0, 470.0, 540.0


def width(forecast: Forecast) -> float:
    assert forecast.pull_in_s is not None
    return forecast.pull_in_s.p90 - forecast.pull_in_s.p10


def missed(by_c: float, at: float) -> list[Event]:
    """The events with the left steak's spot at ``at`` off by so much."""
    return [
        replace(e, celsius=e.celsius + by_c)
        if isinstance(e, Spot) and e.steak == "left" and e.t == at
        else e
        for e in EVENTS
    ]


@pytest.mark.parametrize("steak", ["left", "right"])
def test_after_two_spots_the_band_holds_the_pull_and_a_third_narrows_it(steak: str) -> None:
    times = [FIRST_S - 1.0, FIRST_S + 1.0, SECOND_S + 1.0, THIRD_S + 1.0]
    none, one, two, three = told(HEADER, EVENTS, times, steak)
    assert width(none) > width(one)
    assert width(none) > width(two) > width(three)
    for forecast in (two, three):
        assert forecast.pull_in_s is not None
        left, slack = crossing(SPOTS, steak) - forecast.t, 0.5 * width(forecast)
        assert forecast.pull_in_s.p10 - slack <= left <= forecast.pull_in_s.p90 + slack
        assert forecast.peak_c is not None


def test_before_two_spots_more_are_asked_for() -> None:
    early, later = told(HEADER, EVENTS, [FIRST_S + 1.0, SECOND_S + 1.0])
    assert "spots" in (early.note or "")
    assert later.note is None


def test_a_hotter_spot_brings_the_pull_forward() -> None:
    sooner, plain, later = (
        told(HEADER, missed(by_c, SECOND_S), [SECOND_S + 1.0])[0].pull_in_s
        for by_c in (2.0, 0.0, -2.0)
    )
    assert sooner is not None
    assert plain is not None
    assert later is not None
    assert sooner.p50 < plain.p50 < later.p50


def test_a_spot_near_the_surface_is_recognised_and_only_that_one() -> None:
    times = [SECOND_S + 1.0, THIRD_S + 1.0]
    wrong, after = told(HEADER, missed(14.0, SECOND_S), times)
    spot = next(e for e in missed(14.0, SECOND_S) if isinstance(e, Spot) and e.t == SECOND_S)
    figure = f"{spot.celsius * 1.8 + 32.0:.0f} F ({spot.celsius:.1f} C)"
    assert wrong.note == f"{figure} was near the surface: take another"
    assert "near the surface" not in (after.note or "")
    # Taken at its word it would have brought the core up by all of the fourteen degrees.
    plain = told(HEADER, EVENTS, times)[0]
    assert wrong.core_c is not None
    assert plain.core_c is not None
    assert wrong.core_c - plain.core_c < 7.0


def test_a_spot_of_one_steak_says_little_of_the_other() -> None:
    plain, bent = (
        told(HEADER, events, [SECOND_S + 1.0], "right")[0]
        for events in (EVENTS, missed(5.0, SECOND_S))
    )
    assert plain.pull_in_s is not None
    assert bent.pull_in_s is not None
    assert abs(plain.pull_in_s.p50 - bent.pull_in_s.p50) < 0.25 * width(plain)


def spotted(*spots: tuple[float, float]) -> list[Event]:
    """The events with these spots of the left steak, each its time and degrees, and no others."""
    bare = [e for e in EVENTS if not isinstance(e, Spot)]
    return sorted([*bare, *(Spot(t, "left", c) for t, c in spots)], key=lambda e: e.t)


def left_on(events: list[Event]) -> list[Event]:
    """The same, where nobody takes the steaks off."""
    return without(events, MarkKind.OFF)


def test_without_any_spot_the_forecast_stays_wide_and_asks_for_some() -> None:
    # That of the prior alone: it need not reach a pull that is overdue for most of its members.
    fresh, late = told(HEADER, left_on(spotted()), [FIRST_S, 600.0])
    one = told(HEADER, EVENTS, [FIRST_S + 1.0])[0]
    for forecast in (fresh, late):
        assert width(forecast) > width(one)
        assert forecast.why is None
        assert "two or three spots" in (forecast.note or "")


def test_a_forecast_outlasts_its_only_spot_and_says_how_old_that_is() -> None:
    once = left_on(spotted((240.0, 18.0)))
    fresh, old, older = told(HEADER, once, [241.0, 241.0 + 430.0, 241.0 + 540.0])
    assert "no spot for" not in (fresh.note or "")
    assert "no spot for 7 min" in (old.note or "")
    assert "no spot for 9 min" in (older.note or "")
    for forecast in (fresh, old, older):
        assert forecast.pull_in_s is not None
        assert forecast.why is None


def test_the_band_of_an_old_spot_holds_the_pull_of_a_thicker_steak_too() -> None:
    pull_s = crossing(SPOTS, "right")
    once = [e for e in EVENTS if not isinstance(e, Spot) or e.t == FIRST_S]
    forecast = told(HEADER, once, [pull_s - 20.0], "right")[0]
    assert forecast.pull_in_s is not None
    assert forecast.pull_in_s.p10 <= 20.0 <= forecast.pull_in_s.p90


@pytest.mark.parametrize(
    ("celsius", "told_as"), [(100.0, "212 F (100.0 C)"), (-20.0, "-4 F (-20.0 C)")]
)
def test_an_absurd_spot_is_not_believed_and_the_note_says_so(celsius: float, told_as: str) -> None:
    wrong, right, later = told(
        HEADER,
        spotted((FIRST_S, celsius), (SECOND_S, 36.0)),
        [FIRST_S + 1.0, SECOND_S + 1.0, 600.0],
    )
    assert wrong.note == f"{told_as} was not believed: take another"
    plain = told(HEADER, spotted(), [FIRST_S + 1.0])[0]
    assert wrong.core_c == pytest.approx(plain.core_c, abs=1.0)
    assert "believed" not in (right.note or "")
    assert "believed" not in (later.note or "")

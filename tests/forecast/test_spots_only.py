"""Two steaks without a probe: marks and two or three hand-held spots give each a forecast."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.events import Forecast, Spot
from tests.forecast.cooks.small import SPOTS, Event, cooked, crossing, told

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
    assert "near the surface" in (wrong.note or "")
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


def test_without_any_spot_for_long_one_is_asked_for() -> None:
    bare = [e for e in EVENTS if not isinstance(e, Spot)]
    last = told(HEADER, bare, [600.0])[0]
    assert last.pull_in_s is None
    assert "tap in a spot" in (last.why or "")

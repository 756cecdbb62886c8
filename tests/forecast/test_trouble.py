"""What goes wrong at a cook site, one small simulated cook each: said in words, and survived."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from pullcall.events import Forecast, Mark, MarkKind, Reading
from tests.forecast.cooks.small import (
    GOOD,
    ONE,
    PULL_C,
    TWO,
    Event,
    cooked,
    crossing,
    reread,
    scene,
    told,
    without,
)

#: A steak that stays on long after its pull temperature, and one that is never flipped.
LATE = replace(ONE, name="late", steaks=(replace(ONE.steaks[0], pull_c=62.0),))
UNFLIPPED = replace(
    LATE, name="unflipped", habits=replace(LATE.habits, pattern=ONE.habits.pattern[:1])
)
EVENTS, HEADER, CROSS_S = cooked(ONE)[0], ONE.header(), crossing(ONE)
LATE_EVENTS = cooked(LATE)[0]


def width(forecast: Forecast) -> float:
    assert forecast.pull_in_s is not None
    return forecast.pull_in_s.p90 - forecast.pull_in_s.p10


def p50(forecast: Forecast) -> float:
    assert forecast.pull_in_s is not None
    return forecast.pull_in_s.p50


def first_reading_at(events: Sequence[Event], celsius: float) -> float:
    return next(e.t for e in events if isinstance(e, Reading) and e.celsius >= celsius)


def shifted(events: Sequence[Event], by_c: float, since: float) -> list[Event]:
    return reread(events, lambda r: replace(r, celsius=round(r.celsius + by_c, 2)), since)


def spiked(by_c: float, since: float) -> list[Event]:
    at = next(e.t for e in EVENTS if isinstance(e, Reading) and e.t > since)
    return reread(EVENTS, lambda r: replace(r, celsius=r.celsius + by_c) if r.t == at else r, since)


@pytest.mark.parametrize("by_c", [-40.0, -15.0, 4.0, 15.0, 80.0])
def test_one_wild_reading_hardly_changes_the_forecast(by_c: float) -> None:
    at = CROSS_S - 60.0
    times = [at + 1.0, at + 2.0, at + 10.0]
    for clean, wild in zip(
        told(HEADER, EVENTS, times), told(HEADER, spiked(by_c, at), times), strict=True
    ):
        assert abs(p50(wild) - p50(clean)) < 0.1 * width(clean)
        assert width(wild) < 1.2 * width(clean)
        assert wild.core_c == pytest.approx(clean.core_c, abs=0.2)
        assert wild.note is None


def test_a_wild_reading_is_not_taken_for_the_peak() -> None:
    after = CROSS_S + 40.0
    clean = told(HEADER, EVENTS, [after + 60.0])[0].peak_c
    wild = told(HEADER, spiked(30.0, after), [after + 60.0])[0].peak_c
    assert clean is not None
    assert wild is not None
    assert wild.p50 == pytest.approx(clean.p50, abs=0.1)


def test_in_a_gap_a_pull_is_still_told_and_its_band_never_narrows() -> None:
    begin = CROSS_S - 150.0
    silent = reread(EVENTS, lambda _: None, begin)
    times = [begin + after for after in range(0, 100, 5)]
    heard = told(HEADER, silent, times)
    widths = [width(f) for f in heard if f.pull_in_s is not None and f.pull_in_s.p10 > 0.0]
    assert len(widths) >= 15
    assert all(later >= earlier - 0.2 for earlier, later in pairwise(widths))
    assert widths[-1] > 1.3 * width(told(HEADER, EVENTS, times[: len(widths)])[-1])
    assert "no reading for" in (heard[-1].note or "")


def test_after_a_long_gap_no_pull_is_told_and_a_spot_is_asked_for() -> None:
    silent = reread(EVENTS, lambda _: None, 300.0)
    last = told(HEADER, silent, [600.0])[0]
    assert last.pull_in_s is None
    assert "spot" in (last.why or "")


def test_readings_after_a_gap_bring_the_forecast_back() -> None:
    begin, end = CROSS_S - 150.0, CROSS_S - 60.0
    silent = reread(EVENTS, lambda r: None if r.t < end else r, begin)
    gap, plain = (told(HEADER, events, [end + 20.0])[0] for events in (silent, EVENTS))
    assert abs(p50(gap) - p50(plain)) < width(plain)
    assert gap.note is None or "no reading" not in gap.note


@pytest.mark.parametrize("by_c", [6.0, -6.0])
def test_a_slip_is_noticed_and_the_forecast_follows_the_probe_within_twenty_seconds(
    by_c: float,
) -> None:
    begin = CROSS_S - 200.0
    events = shifted(LATE_EVENTS, by_c, begin)
    before, soon, after = told(HEADER, events, [begin - 1.0, begin + 8.0, begin + 20.0])
    assert "moved" in (soon.note or "")
    assert before.core_c is not None
    assert after.core_c == pytest.approx(before.core_c + 21.0 * 4.4 / 60.0 + by_c, abs=0.8)
    assert (p50(after) < p50(before) - 21.0) == (by_c > 0.0)


@pytest.mark.parametrize("by_c", [6.0, -6.0])
def test_a_minute_after_a_slip_the_band_holds_when_the_probe_will_cross(by_c: float) -> None:
    begin = CROSS_S - 200.0
    events = shifted(LATE_EVENTS, by_c, begin)
    left = first_reading_at(events, PULL_C) - (begin + 60.0)
    after = told(HEADER, events, [begin + 60.0])[0].pull_in_s
    assert after is not None
    # 80 % of truths: half a band more on each side holds nearly all.
    slack = 0.5 * (after.p90 - after.p10)
    assert after.p10 - slack <= left <= after.p90 + slack


def test_a_slip_down_is_not_taken_for_a_steak_that_came_off() -> None:
    begin = CROSS_S - 200.0
    times = [begin + after for after in range(0, 44, 2)]
    notes = [f.note or "" for f in told(HEADER, shifted(LATE_EVENTS, -6.0, begin), times)]
    assert not any("off the grate" in note for note in notes)


def test_a_rise_through_a_slip_is_not_shown_as_the_meats_own() -> None:
    begin = CROSS_S - 200.0
    times = [begin + after for after in range(10, 60, 5)]
    for forecast in told(HEADER, shifted(LATE_EVENTS, 6.0, begin), times):
        # Before and after the slip it rises by 3.5 to 4.5 C a minute.
        assert forecast.rise_c_per_min is None or 2.0 < forecast.rise_c_per_min < 7.0


def test_a_probe_pulled_out_of_the_steak_is_said() -> None:
    begin = CROSS_S - 100.0
    out = reread(EVENTS, lambda r: replace(r, celsius=22.3), begin)
    soon, *later = told(HEADER, out, [begin + 8.0, begin + 20.0, begin + 40.0])
    assert "out of the steak" in (soon.note or "")
    for forecast in (soon, *later):
        # From 22 C no steak is done at once: none rises by more than 20 C a minute.
        assert forecast.pull_in_s is None or forecast.pull_in_s.p10 > 60.0


def test_two_probes_that_change_places_are_said_on_both_steaks() -> None:
    events, left_s = cooked(TWO)[0], crossing(TWO)
    other = {"left": "right", "right": "left", None: None}
    swapped = reread(events, lambda r: replace(r, steak=other[r.steak]), left_s - 150.0)
    for steak in ("left", "right"):
        said = told(TWO.header(), swapped, [left_s - 140.0], steak)[0]
        assert "seem swapped" in (said.note or "")
        plain = told(TWO.header(), events, [left_s - 140.0], steak)[0]
        assert "seem swapped" not in (plain.note or "")


def test_a_steak_taken_off_without_a_mark_is_said_and_its_peak_is_not_forgotten() -> None:
    events = without(EVENTS, MarkKind.OFF)
    peak_c = cooked(ONE)[1]["left"].peak_c
    said = told(HEADER, events, [CROSS_S + after for after in (200.0, 240.0, 280.0, 340.0)])
    assert "off the grate" in (said[0].note or "")
    for forecast in said:
        # The highest core of the whole cook is never below what it has been.
        assert forecast.peak_c is not None
        assert forecast.peak_c.p50 > peak_c - 0.5
        # Nor has any steak that was pulled at 54 C ended 20 C higher (common practice, no source).
        assert forecast.peak_c.p90 < PULL_C + 20.0


def test_a_steak_that_stays_on_is_not_said_to_be_off() -> None:
    notes = [f.note or "" for f in told(HEADER, LATE_EVENTS, [float(t) for t in range(60, 800, 5)])]
    assert not any("off the grate" in note for note in notes)
    assert not any("moved" in note for note in notes)


def flip_s(events: Sequence[Event]) -> float:
    return next(e.t for e in events if isinstance(e, Mark) and e.mark is MarkKind.FLIP)


def test_a_flip_that_nobody_marked_is_said_and_both_are_allowed_for() -> None:
    due, events = flip_s(LATE_EVENTS), without(LATE_EVENTS, MarkKind.FLIP)
    times = [due + 40.0, due + 150.0, CROSS_S - 120.0]
    for forecast in told(HEADER, events, times):
        assert "flip" in (forecast.note or "")
        assert forecast.pull_in_s is not None
        slack = 0.5 * width(forecast)
        left = CROSS_S - forecast.t
        assert forecast.pull_in_s.p10 - slack <= left <= forecast.pull_in_s.p90 + slack


def test_a_flip_that_never_happened_is_allowed_for_too() -> None:
    events = cooked(UNFLIPPED)[0]
    crossed = first_reading_at(events, PULL_C)
    for forecast in told(HEADER, events, [flip_s(LATE_EVENTS) + 40.0, crossed - 120.0]):
        assert "flip" in (forecast.note or "")
        assert forecast.pull_in_s is not None
        left, slack = crossed - forecast.t, 0.5 * width(forecast)
        assert forecast.pull_in_s.p10 - slack <= left <= forecast.pull_in_s.p90 + slack


def test_a_marked_flip_after_an_assumed_one_settles_it() -> None:
    late = flip_s(LATE_EVENTS) + 60.0
    flip = Mark(late, "left", MarkKind.FLIP)
    events = sorted([*without(LATE_EVENTS, MarkKind.FLIP), flip], key=lambda e: e.t)
    before, after = told(HEADER, events, [late - 5.0, late + 5.0])
    assert "no flip is marked" in (before.note or "")
    assert "no flip is marked" not in (after.note or "")
    assert after.pull_in_s is not None


def test_a_tip_near_a_face_is_said_and_one_in_the_middle_is_not() -> None:
    upper = replace(GOOD, depth_mm=0.12 * 30.0)
    near = replace(ONE, name="near", steaks=(scene("left", probe=upper),))
    times = [float(t) for t in np.arange(200.0, 280.0, 10.0)]
    notes = [f.note or "" for f in told(near.header(), cooked(near)[0], times)]
    assert any("near a face" in note for note in notes)
    assert not any("near a face" in (f.note or "") for f in told(HEADER, EVENTS, times))

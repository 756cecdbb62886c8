"""The fire: level, trend, time to its floor and state, from a probe or from infrared checks."""

from __future__ import annotations

import math
from copy import deepcopy
from dataclasses import replace
from math import exp, log
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.events import FireSettings
from pullcall.fire.fire import LID_LEFT_OPEN_S, Fire
from pullcall.fire.state import FireState
from tests.fire.fires import AIR_C, SETTINGS, cooling, line, probed, spotted, told

FLOOR_C = SETTINGS.floor_c


def test_nothing_is_reported_of_a_fire_nobody_heard_of() -> None:
    assert Fire(SETTINGS).report(100.0) is None


@pytest.mark.parametrize("constant_min", [40.0, 60.0, 120.0])
@pytest.mark.parametrize("now_min", [1.0, 3.0, 5.0])
def test_the_time_to_the_floor_of_a_cooling_grate_is_that_of_its_tangent(
    constant_min: float, now_min: float
) -> None:
    """Newton's law of cooling, from 300 C toward 20 C (any heat transfer textbook).

    The crossing is at constant * log(excess now / excess at the floor). A tangent falls short of
    it, as the fall slows. The slope is a median over w = min(now, 5 min), so it is the tangent of
    up to w/2 ago and steeper than now's by at most exp(w / (2 constant)); the level's 30 s add
    15 s to that. Rounded: 1 s.
    """
    constant, now = constant_min * 60.0, now_min * 60.0
    report = told(probed(cooling(300.0, constant), now), now)
    excess = (300.0 - AIR_C) * exp(-now / constant)
    crossing_s = constant * log(excess / (FLOOR_C - AIR_C))
    tangent_s = constant * (1.0 - (FLOOR_C - AIR_C) / excess)
    steeper = exp((now / 2.0 + 15.0) / constant)
    assert report.floor_in_s is not None
    assert tangent_s / steeper - 1.0 <= report.floor_in_s <= crossing_s + 1.0


def test_spots_of_a_cooling_grate_give_the_tangent_of_half_their_span_ago() -> None:
    """Newton's law of cooling with a constant of two hours: 15 min of spots span an eighth of it,
    so the median slope is steeper than the last by at most exp(1/16), 6 %; a tangent falls short
    of the crossing. Rounded: 1 s."""
    curve = cooling(320.0, 7_200.0)
    spots = [(180.0 * k, curve(180.0 * k)) for k in range(6)]
    report = told(spotted(spots), 900.0)
    excess = curve(900.0) - AIR_C
    crossing_s = 7_200.0 * log(excess / (FLOOR_C - AIR_C))
    tangent_s = 7_200.0 * (1.0 - (FLOOR_C - AIR_C) / excess)
    assert report.floor_in_s is not None
    assert tangent_s / exp(1.0 / 16.0) - 1.0 <= report.floor_in_s <= crossing_s + 1.0


def test_on_a_straight_fall_level_trend_and_floor_are_those_of_the_line() -> None:
    report = told(probed(line(300.0, -6.0), 240.0), 240.0)
    assert report.trend_c_per_min == pytest.approx(-6.0, abs=0.01)
    # 24 C have gone by now, and the median of the last 30 s is that of 15 s ago.
    assert report.celsius == pytest.approx(300.0 - 24.0 + 1.5, abs=0.1)
    assert report.floor_in_s == pytest.approx((40.0 - 24.0) / 6.0 * 60.0, abs=1.0)


def test_a_noisy_probe_with_spikes_tells_the_same_trend() -> None:
    rng = Random(5)

    def spoiled(t: float) -> float:
        spike = 150.0 if rng.random() < 0.05 else 0.0
        return line(320.0, -4.0)(t) + rng.gauss(0.0, 2.0) + spike

    report = told(probed(spoiled, 300.0), 300.0)
    # Sixty points, 5 s apart, of 2 C noise: the slope's deviation is 2 / (86.6 s * sqrt(60))
    # = 0.18 C/min by least squares; four of them allowed.
    assert report.trend_c_per_min == pytest.approx(-4.0, abs=0.72)
    assert report.celsius == pytest.approx(300.0 + 1.0, abs=2.0)


def test_a_steady_or_rising_fire_has_no_time_to_its_floor() -> None:
    for c_per_min in (0.0, 3.0):
        assert told(probed(line(300.0, c_per_min), 300.0), 300.0).floor_in_s is None


def test_below_the_floor_and_falling_no_time_is_left() -> None:
    report = told(probed(line(280.0, -10.0), 240.0), 240.0)
    assert (report.state, report.floor_in_s) == (FireState.LOW, 0.0)


def test_no_trend_is_told_from_a_few_seconds_or_from_two_spots() -> None:
    assert told(probed(line(300.0, -6.0), 50.0), 50.0).trend_c_per_min is None
    assert told(spotted([(0.0, 300.0), (200.0, 280.0)]), 200.0).trend_c_per_min is None


def test_a_fire_is_heating_until_it_was_over_its_floor_and_low_after() -> None:
    fire = Fire(SETTINGS)
    states = []
    for t in range(0, 900, 2):
        fire.read(float(t), 200.0 + 0.4 * min(t, 450) - 0.6 * max(0, t - 450))
        states.append(told(fire, float(t)).state)
    changes = [b for a, b in zip([None, *states], states, strict=False) if a is not b]
    assert changes == [FireState.HEATING, FireState.READY, FireState.LOW]


def test_one_spike_does_not_make_a_heating_fire_ready() -> None:
    fire = Fire(SETTINGS)
    for t in range(100):
        fire.read(float(t), 500.0 if t == 0 else 150.0)
    assert told(fire, 100.0).state is FireState.HEATING


def test_a_fire_above_its_ceiling_is_high() -> None:
    assert told(probed(line(410.0, 0.0), 60.0), 60.0).state is FireState.HIGH


def test_other_bounds_are_judged_with_what_is_known() -> None:
    fire = probed(line(300.0, 0.0), 60.0)
    fire.set(replace(SETTINGS, floor_c=310.0))
    assert told(fire, 60.0).state is FireState.HEATING
    fire.set(replace(SETTINGS, floor_c=280.0, ceiling_c=290.0))
    assert told(fire, 60.0).state is FireState.HIGH


def test_another_channel_is_another_place() -> None:
    fire = probed(line(300.0, -6.0), 300.0)
    fire.set(replace(SETTINGS, channel="grate-2/0"))
    assert fire.report(300.0) is None


def test_a_silent_probe_is_stale_after_two_minutes_and_spots_after_fifteen() -> None:
    probe = probed(line(300.0, 0.0), 60.0)
    assert told(probe, 60.0 + 119.0).state is FireState.READY
    assert told(probe, 60.0 + 121.0).state is FireState.STALE
    spots = spotted([(0.0, 300.0)])
    assert told(spots, 899.0).state is FireState.READY
    assert told(spots, 901.0).state is FireState.STALE
    assert told(spots, 901.0).age_s == 901.0


def test_a_spot_speaks_for_the_fire_once_the_probe_is_silent() -> None:
    fire = probed(line(300.0, 0.0), 60.0)
    fire.spot(70.0, 340.0)
    assert told(fire, 80.0).celsius == 300.0
    assert told(fire, 200.0).celsius == 340.0


def test_a_lid_dip_is_not_a_falling_fire() -> None:
    def dipping(t: float) -> float:
        """Falls by up to 60 C while the lid is open, 200 to 230 s, and recovers after."""
        if t < 200.0:
            return 300.0
        if t < 230.0:
            return 300.0 - 60.0 * (1.0 - exp(-(t - 200.0) / 10.0))
        return 300.0 - 57.0 * exp(-(t - 230.0) / 12.0)

    marked, unmarked = Fire(SETTINGS), Fire(SETTINGS)
    lows = []
    for t in range(400):
        if t in (200, 230):
            marked.lid(float(t), t == 200)
        marked.read(float(t), dipping(t))
        unmarked.read(float(t), dipping(t))
        lows.append(told(unmarked, float(t)).state is FireState.LOW)
        report = told(marked, float(t))
        assert report.state is not FireState.LOW
        assert report.celsius > 290.0
        assert report.floor_in_s is None
    assert any(lows), "without the marks this dip must look low, or the test shows nothing"


def test_a_lid_left_open_does_not_blind_the_watch() -> None:
    fire = Fire(SETTINGS)
    fire.lid(0.0, True)
    for t in range(int(LID_LEFT_OPEN_S) + 60):
        fire.read(float(t), 300.0)
    assert told(fire, LID_LEFT_OPEN_S + 60.0).state is FireState.READY


def test_an_open_lid_is_no_silence() -> None:
    fire = probed(line(300.0, 0.0), 60.0)
    fire.lid(61.0, True)
    for t in range(62, 200):
        if t == 171:
            fire.lid(170.5, False)
        fire.read(float(t), 250.0)
    assert told(fire, 200.0).state is FireState.READY
    assert told(fire, 200.0).celsius == 300.0


def test_a_spot_counts_with_the_lid_open() -> None:
    fire = Fire(SETTINGS)
    fire.lid(0.0, True)
    fire.spot(5.0, 310.0)
    assert told(fire, 6.0).celsius == 310.0


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_or_out_of_order_is_dropped(bad: float) -> None:
    fire = probed(line(300.0, 0.0), 60.0)
    before = fire.report(61.0)
    fire.read(61.0, bad)
    fire.read(30.0, 900.0)
    fire.spot(61.0, bad)
    assert fire.report(61.0) == before


def test_a_copy_goes_its_own_way() -> None:
    fire = probed(line(300.0, 0.0), 60.0)
    before = fire.report(200.0)
    other = deepcopy(fire)
    for t in range(61, 200):
        other.read(float(t), 200.0)
    assert fire.report(200.0) == before
    assert told(other, 200.0).state is FireState.LOW


def test_an_hour_at_ten_readings_a_second_is_kept_in_a_few_points() -> None:
    fire = probed(line(300.0, 0.0), 3_600.0, step_s=0.1)
    # Sixty-one for the slope and one a second for the level's half minute.
    assert fire._probe.size() <= 61 + 35
    assert told(fire, 3_600.0).celsius == 300.0


_WALK = st.lists(st.floats(-3.0, 3.0, allow_nan=False), min_size=20, max_size=120)


def _walked(steps: list[float], start_c: float, at: float, settings: FireSettings) -> Fire:
    fire, celsius = Fire(settings), start_c
    for k, step in enumerate(steps):
        celsius += step
        fire.read(at + 4.0 * k, round(celsius, 1))
    return fire


@given(_WALK, st.integers(-2_000, 20_000))
def test_the_fire_does_not_know_what_time_it_is(steps: list[float], shift: int) -> None:
    end = 4.0 * (len(steps) - 1)
    here = told(_walked(steps, 300.0, 0.0, SETTINGS), end)
    there = told(_walked(steps, 300.0, float(shift), SETTINGS), end + shift)
    assert replace(there, t=here.t) == here


@given(_WALK, st.integers(1, 100))
def test_a_hotter_grate_never_reaches_its_floor_sooner(steps: list[float], hotter: int) -> None:
    end = 4.0 * (len(steps) - 1)
    here = told(_walked(steps, 300.0, 0.0, SETTINGS), end)
    there = told(_walked(steps, 300.0 + hotter, 0.0, SETTINGS), end)
    assert there.trend_c_per_min == pytest.approx(here.trend_c_per_min, abs=0.011)
    if here.floor_in_s is not None and there.floor_in_s is not None:
        assert there.floor_in_s >= here.floor_in_s - 0.2


@given(st.floats(-30.0, -1.0), st.floats(1.05, 3.0))
def test_a_faster_fall_never_reaches_the_floor_later(fall: float, faster: float) -> None:
    slow = told(probed(lambda t: 300.0 + fall * (t - 200.0) / 60.0, 200.0, 2.0), 200.0)
    fast = told(probed(lambda t: 300.0 + faster * fall * (t - 200.0) / 60.0, 200.0, 2.0), 200.0)
    assert slow.floor_in_s is not None
    assert fast.floor_in_s is not None
    assert fast.floor_in_s <= slow.floor_in_s + 0.2

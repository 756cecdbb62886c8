"""Alarms of probes, fire, plan, window and surroundings: each row of the table in
docs/cook-log.md sounds when it should, and is silent when it should not."""

from __future__ import annotations

from itertools import pairwise
from types import SimpleNamespace
from typing import cast

import pytest

from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import USUAL_PATTERN, CallKind, Fault, Forecast, MarkKind, Quantiles
from pullcall.fire.fire import FireReport
from pullcall.fire.state import FireState
from pullcall.plan.live import LivePlan
from tests.calls.stage import PULL_C, Stage, forecast, on


def steady(t: float) -> float:
    return 20.0 + 0.05 * t


def silent_from(begin: float, end: float = float("inf")) -> Stage:
    """A steak on whose probe is silent for a while."""
    stage = on()
    stage.reads["left"] = lambda t: None if begin <= t < end else steady(t)
    return stage


def grate(t: float, celsius: float, state: FireState = FireState.READY) -> FireReport:
    return FireReport(t, celsius, 0.0, None, None, state)


# Probes


def test_a_probe_is_lost_after_twenty_seconds_and_asks_for_a_spot() -> None:
    stage = silent_from(100.0)
    stage.run(140.0)
    (lost,) = stage.said(CallKind.PROBE_LOST)
    assert lost.t == pytest.approx(120.0, abs=1.0)
    assert (lost.priority, lost.text) == (2, "Left: no probe reading, tap in a spot")


def test_a_lost_probe_near_the_pull_is_urgent_within_seven_seconds() -> None:
    stage = silent_from(100.0)
    stage.says["left"] = lambda t: forecast(t, 100.0)
    stage.run(107.0)
    (lost,) = stage.said(CallKind.PROBE_LOST)
    assert lost.priority == 1


def test_three_good_readings_clear_a_lost_probe() -> None:
    stage = silent_from(100.0, 160.0)
    stage.run(161.0)
    (first, *_) = stage.said(CallKind.PROBE_LOST)
    assert stage.states(first.id) == []
    stage.run(163.0)
    assert stage.states(first.id) == ["cleared"]


def test_a_slow_probe_is_given_five_of_its_intervals() -> None:
    stage = on()
    stage.reads["left"] = lambda t: steady(t) if t % 4 == 0 else None
    stage.run(300.0)
    assert stage.said(CallKind.PROBE_LOST) == []


def test_a_probe_that_slips_is_told_once_it_is_sure_and_a_spot_decides() -> None:
    stage = on()
    stage.reads["left"] = lambda t: steady(t) - (3.0 if t >= 100.0 else 0.0)
    stage.run(110.0)
    (wrong,) = stage.said(CallKind.PROBE_WRONG)
    assert (wrong.t, wrong.priority) == (102.0, 2)
    stage.spot("left", 22.0)
    stage.run(112.0)
    assert stage.states(wrong.id) == ["cleared"]


def test_a_slip_is_over_by_itself_after_half_a_steady_minute() -> None:
    stage = on()
    stage.reads["left"] = lambda t: steady(t) - (3.0 if t >= 100.0 else 0.0)
    stage.run(140.0)
    assert stage.states(stage.said(CallKind.PROBE_WRONG)[0].id) == ["cleared"]


@pytest.mark.parametrize("spike", [-9.0, 9.0])
def test_spikes_that_come_back_are_no_slip(spike: float) -> None:
    stage = on()
    stage.reads["left"] = lambda t: steady(t) + (spike if t in (100.0, 101.0) else 0.0)
    stage.run(140.0)
    assert stage.calls == []


def test_what_a_core_rose_while_its_probe_was_silent_is_no_slip() -> None:
    stage = on()
    stage.reads["left"] = lambda t: None if 100 <= t < 140 else 3.0 * steady(t)
    stage.run(200.0)
    assert stage.said(CallKind.PROBE_LOST)
    assert stage.said(CallKind.PROBE_WRONG) == []


def test_handling_moves_a_probe_and_nothing_is_said_of_it() -> None:
    stage = on()
    stage.reads["left"] = lambda t: steady(t) - (3.0 if t >= 100.0 else 0.0)
    stage.run(95.0)
    stage.mark(MarkKind.BASTE, "left")
    stage.run(140.0)
    assert stage.said(CallKind.PROBE_WRONG) == []


def test_when_the_pull_is_due_trouble_with_the_probe_adds_nothing() -> None:
    stage = silent_from(100.0)
    stage.says["left"] = lambda t: forecast(t, 60.0 if t < 115 else 1.0, core_c=50.0)
    stage.run(108.0)
    (lost, *_) = stage.said(CallKind.PROBE_LOST)
    stage.says["left"] = lambda t: forecast(t, 0.0, core_c=PULL_C + 0.1)
    stage.run(112.0)
    assert stage.said(CallKind.PULL_NOW)
    assert stage.states(lost.id)[-1] == "cleared"


# The fire


def test_a_low_fire_presses_before_anything_is_on_and_less_after() -> None:
    stage = Stage()
    stage.fire = grate(0.0, 285.0)
    stage.run(10.0)
    stage.fire = grate(10.0, 250.0, FireState.LOW)
    stage.run(39.0)
    assert stage.said(CallKind.FIRE_LOW) == []
    stage.run(45.0)
    (low,) = stage.said(CallKind.FIRE_LOW)
    assert low.priority == 2
    later = on()
    later.fire = grate(0.0, 250.0, FireState.LOW)
    later.run(60.0)
    assert [call.priority for call in later.said(CallKind.FIRE_LOW)] == [3]


def test_a_fire_is_fine_again_only_well_inside_its_bounds() -> None:
    stage = Stage()
    stage.fire = grate(0.0, 420.0, FireState.HIGH)
    stage.run(40.0)
    (high,) = stage.said(CallKind.FIRE_HIGH)
    stage.fire = grate(40.0, 390.0)  # within 14 C of 398.9 C
    stage.run(90.0)
    assert stage.states(high.id) == []
    stage.fire = grate(90.0, 380.0)
    stage.run(115.0)
    assert stage.states(high.id) == ["cleared"]


def test_a_grate_that_still_heats_up_is_not_falling() -> None:
    stage = Stage()
    stage.fire = grate(0.0, 120.0, FireState.HEATING)
    stage.run(200.0)
    assert stage.calls == []


# The rest, the plan and the window


def resting(t: float, core_c: float, rest_in_s: float) -> Forecast:
    return Forecast(t, "left", None, Quantiles(55.0, 56.0, 57.0), core_c, rest_in_s=rest_in_s)


def test_a_rested_steak_past_its_peak_is_to_be_boxed() -> None:
    stage = on()
    stage.mark(MarkKind.OFF)
    stage.says["left"] = lambda t: resting(t, 56.0 - max(0.0, t - 300) * 0.01, max(0.0, 420.0 - t))
    stage.run(430.0)
    assert stage.said(CallKind.REST_DONE) == []
    stage.run(600.0)
    (done,) = stage.said(CallKind.REST_DONE)
    assert done.t == pytest.approx(440.0, abs=2.0)
    stage.mark(MarkKind.BOXED)
    stage.run(602.0)
    assert stage.states(done.id) == ["cleared"]


def test_a_core_that_stays_level_is_rested_three_minutes_after_the_least_rest() -> None:
    stage = on()
    stage.mark(MarkKind.OFF)
    stage.says["left"] = lambda t: resting(t, 56.0, max(0.0, 420.0 - t))
    stage.run(700.0)
    assert stage.times(CallKind.REST_DONE) == [pytest.approx(600.0, abs=2.0)]


def planned(name: str, begin_t: float, latest_t: float, done_t: float | None = None) -> LivePlan:
    """A plan of one step; only what the calls look at."""
    step = SimpleNamespace(
        name=name, steak=None, recommended_t=begin_t, latest_t=latest_t, done_t=done_t
    )
    return cast(LivePlan, SimpleNamespace(steps=(step,)))


def test_a_step_of_the_plan_is_asked_for_and_presses_near_its_latest_time() -> None:
    stage = Stage()
    stage.window = (2000.0, 3800.0)
    stage.plan = planned("light", 100.0, 700.0)
    stage.run(99.0)
    assert stage.calls == []
    stage.run(405.0)
    found = stage.said(CallKind.PLAN_STEP)
    assert {call.text for call in found} == {"Light the chimney"}
    assert [call.priority for call in found] == [3, 3, 3, 3, 3, 2]
    assert len({call.id for call in found}) == 1
    stage.plan = planned("light", 100.0, 700.0, done_t=410.0)
    stage.run(500.0)
    assert stage.states(found[0].id)[-1] == "cleared"


def test_nobody_is_asked_to_keep_steaks_cold_or_to_let_the_grate_heat_up() -> None:
    for name in ("cold", "heat_up", "rest", "hand_in"):
        stage = Stage()
        stage.window = (2000.0, 3800.0)
        stage.plan = planned(name, 0.0, 10.0)
        stage.run(60.0)
        assert stage.calls == []


def windowed() -> Stage:
    stage = on()
    stage.mark(MarkKind.OFF)
    stage.window = (600.0, 2400.0)
    return stage


def test_the_window_is_told_when_it_opens_and_presses_more_and_more() -> None:
    stage = windowed()
    stage.run(2399.0)
    found = stage.said(CallKind.WINDOW)
    assert (found[0].t, found[0].priority) == (600.0, 3)
    assert found[0].text == "Turn-in is open"
    assert min(call.t for call in found if call.priority == 2) == 2100.0
    urgent = [call for call in found if call.priority == 1]
    assert (urgent[0].t, urgent[0].text) == (2280.0, "Hand in now: 120 seconds left")
    assert max(b.t - a.t for a, b in pairwise(urgent)) <= 5.0
    assert urgent[-1].text == "Hand in now: 0 seconds left"


def test_handed_in_ends_the_window() -> None:
    stage = windowed()
    stage.run(2290.0)
    stage.mark(MarkKind.HANDED_IN)
    assert stage.run(2500.0) == []


def test_with_nothing_cooked_nobody_is_asked_to_hand_in() -> None:
    stage = Stage()
    stage.window = (600.0, 2400.0)
    stage.run(2500.0)
    assert stage.said(CallKind.WINDOW) == []


# The surroundings


def test_that_nobody_hears_is_an_alarm_after_ten_seconds_and_urgent_near_a_pull() -> None:
    stage = on()
    stage.reads["left"] = steady
    stage.run(49.0)
    stage.faults = {(Fault.UNHEARD, ""): 50.0}
    stage.run(59.0)
    assert stage.said(CallKind.UNHEARD) == []
    stage.run(62.0)
    assert [call.priority for call in stage.said(CallKind.UNHEARD)] == [2]
    stage.says["left"] = lambda t: forecast(t, 100.0)
    stage.run(70.0)
    assert stage.said(CallKind.UNHEARD)[-1].priority == 1
    stage.faults = {}
    stage.run(71.0)
    assert stage.states(stage.said(CallKind.UNHEARD)[0].id)[-1] == "cleared"


def test_before_anything_is_on_nobody_needs_to_hear() -> None:
    stage = Stage()
    stage.faults = {(Fault.UNHEARD, ""): 0.0}
    stage.run(60.0)
    assert stage.calls == []


@pytest.mark.parametrize(
    ("fault", "detail", "call"),
    [
        (Fault.RECORDER, "", CallKind.RECORDER_TROUBLE),
        (Fault.DISK, "", CallKind.RECORDER_TROUBLE),
        (Fault.CLOCK, "", CallKind.CLOCK_JUMPED),
        (Fault.BATTERY, "north probe", CallKind.BATTERY_LOW),
    ],
)
def test_notices_are_told_once(fault: Fault, detail: str, call: CallKind) -> None:
    stage = Stage()
    stage.faults = {(fault, detail): 5.0}
    stage.run(600.0)
    (told,) = stage.calls
    assert (told.call, told.priority) == (call, 3)
    assert detail in told.text


# Answers


def test_an_alarm_put_aside_is_quiet_and_comes_back_if_its_cause_is_still_there() -> None:
    stage = silent_from(100.0)
    stage.run(130.0)
    id = stage.said(CallKind.PROBE_LOST)[0].id
    stage.engine.check_shelving(id, 120.0)
    stage.keep(stage.engine.shelve(id, "phone", 120.0, 130.0))
    assert stage.run(249.0) == []
    stage.run(251.0)
    assert stage.calls[-1].id == id
    assert stage.states(id) == ["shelved", "unacknowledged"]


def test_an_alarm_put_aside_that_becomes_urgent_sounds_at_once() -> None:
    stage = silent_from(100.0)
    stage.run(130.0)
    id = stage.said(CallKind.PROBE_LOST)[0].id
    stage.engine.shelve(id, "phone", 300.0, 130.0)
    stage.says["left"] = lambda t: forecast(t, 100.0)
    stage.run(131.0)
    assert (stage.calls[-1].id, stage.calls[-1].priority) == (id, 1)


def test_what_must_be_done_in_seconds_cannot_be_put_aside() -> None:
    stage = on()
    stage.pull_at(50.0)
    stage.run(60.0)
    id = stage.said(CallKind.PULL_NOW)[0].id
    with pytest.raises(RefusedError, match="cannot be put aside"):
        stage.engine.check_shelving(id, 60.0)
    with pytest.raises(UnknownNameError):
        stage.engine.check_shelving("c99", 60.0)


def test_nothing_is_put_aside_for_longer_than_five_minutes() -> None:
    stage = silent_from(100.0)
    stage.run(130.0)
    id = stage.said(CallKind.PROBE_LOST)[0].id
    with pytest.raises(RefusedError, match="up to 300 s"):
        stage.engine.check_shelving(id, 301.0)


def test_answers_are_per_instance() -> None:
    stage = on("left", "right")
    for name in ("left", "right"):
        stage.pull_at(50.0, name)
    stage.run(52.0)
    left, right = (stage.said(CallKind.PULL_NOW, name)[0] for name in ("left", "right"))
    stage.engine.acknowledge(left.id, "phone", 52.0)
    stage.says = {
        name: (lambda t, name=name: forecast(t, 0.0, core_c=PULL_C + 1.0, steak=name))  # type: ignore[misc]
        for name in ("left", "right")
    }
    stage.reads = {}
    after = [call.id for call in stage.run(62.0) if call.call is CallKind.PULL_NOW]
    assert left.id not in after
    assert right.id in after


def test_after_a_restart_what_nobody_answered_sounds_within_two_seconds() -> None:
    stage = silent_from(100.0)
    stage.run(115.0)
    assert stage.run(118.0) == []
    stage.engine.sound_again(118.0)
    assert [call.call for call in stage.run(120.0)] == [CallKind.PROBE_LOST]


# Turns and flips


def test_twins_are_turned_and_flipped_together() -> None:
    stage = on("left", "right", pattern=USUAL_PATTERN)
    stage.reads = {"left": steady, "right": steady}
    stage.run(260.0)
    planned = [c for c in stage.calls if c.call in (CallKind.TURN, CallKind.FLIP)]
    assert [call.text for call in planned] == [
        "Both: turn in 10",
        "Both: turn now",
        "Both: turn now",
        "Both: flip in 10",
        "Both: flip now",
        "Both: flip now",
    ]
    assert [call.t for call in planned] == [110.0, 120.0, 128.0, 230.0, 240.0, 248.0]


def test_a_turn_that_was_tapped_is_not_called_again() -> None:
    stage = on("left", pattern=USUAL_PATTERN)
    stage.reads["left"] = steady
    stage.run(121.0)
    stage.mark(MarkKind.TURN)
    stage.run(200.0)
    assert stage.times(CallKind.TURN) == [110.0, 120.0]


def test_an_alarm_that_goes_on_never_keeps_a_flip_from_being_called() -> None:
    stage = on("left", "right", pattern=USUAL_PATTERN)
    stage.says["left"] = lambda t: forecast(t, 0.0, core_c=PULL_C + 0.5)
    stage.reads["left"] = lambda t: PULL_C + 0.5
    stage.run(245.0)
    flips = stage.times(CallKind.FLIP, "right")
    assert flips[0] == pytest.approx(230.0, abs=5.0)
    assert flips[1] == pytest.approx(240.0, abs=5.0)


def test_after_the_window_or_a_hand_in_no_step_is_asked_for() -> None:
    stage = Stage("left", "right")
    stage.window = (100.0, 200.0)
    stage.plan = planned("light", 150.0, 190.0)
    stage.run(199.0)
    assert stage.said(CallKind.PLAN_STEP)
    stage.run(202.0)
    assert stage.run(600.0) == []


def test_nobody_is_asked_to_put_a_steak_on_a_cold_grate() -> None:
    stage = Stage()
    stage.window = (2000.0, 3800.0)
    step = SimpleNamespace(
        name="cook", steak="left", recommended_t=0.0, latest_t=900.0, done_t=None
    )
    stage.plan = cast(LivePlan, SimpleNamespace(steps=(step,)))
    stage.fire = grate(0.0, 150.0, FireState.HEATING)
    assert stage.run(60.0) == []
    stage.fire = grate(60.0, 280.0)
    stage.run(80.0)
    assert [call.text for call in stage.said(CallKind.PLAN_STEP)][:1] == ["Left: put it on"]


def test_a_forecast_that_trembles_about_two_minutes_raises_nothing_anew() -> None:
    stage = silent_from(100.0)
    stage.says["left"] = lambda t: forecast(t, 119.0 if t % 2 else 123.0)
    stage.run(130.0)
    id = stage.said(CallKind.PROBE_LOST)[0].id
    stage.engine.acknowledge(id, "phone", 130.0)
    assert stage.run(200.0) == []

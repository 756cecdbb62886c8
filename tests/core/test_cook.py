"""The core gives the same forecasts and calls from the same inputs, whoever feeds it."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcall.calls.alarm import StateChange
from pullcall.core.cook import Cook, Effect
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import (
    Acknowledgement,
    Call,
    CallKind,
    CookHeader,
    Forecast,
    Input,
    Mark,
    MarkKind,
    Reading,
    Setting,
    Spot,
    Undo,
)
from tests.cooks import HEADER, ONE, in_time_order, off, on, rising, two_steak_cook

PULLS = (CallKind.PULL_SOON, CallKind.PULL_NOW)


def run(header: CookHeader, events: list[Input], until: float | None = None) -> list[Effect]:
    cook = Cook(header)
    out = [effect for event in events for effect in cook.apply(event)]
    return out + cook.advance(until if until is not None else events[-1].t)


def calls(effects: list[Effect]) -> list[Call]:
    return [e for e in effects if isinstance(e, Call)]


def kinds(effects: list[Effect], steak: str) -> list[CallKind]:
    return [c.call for c in calls(effects) if steak in c.steaks]


def test_a_forecast_comes_each_second_from_on_for_each_steak() -> None:
    effects = run(HEADER, two_steak_cook(60.0))
    times = [e.t for e in effects if isinstance(e, Forecast) and e.steak == "left"]
    assert times == [float(t) for t in range(1, 61)]


def test_a_rising_steak_is_called_at_forty_twenty_ten_and_now() -> None:
    """A straight rise is unlike meat, and still called near the moment meant."""
    effects = run(ONE, in_time_order([on(0.1)], rising("left", 0.2, 360.0, 5.0, 49.0 / 350.0)))
    pulls = [c for c in calls(effects) if c.call in (CallKind.PULL_SOON, CallKind.PULL_NOW)]
    assert [(c.call, c.in_s) for c in pulls[:4]] == [
        (CallKind.PULL_SOON, 40.0),
        (CallKind.PULL_SOON, 20.0),
        (CallKind.PULL_SOON, 10.0),
        (CallKind.PULL_NOW, None),
    ]
    assert [350.2 - c.t for c in pulls[:3]] == pytest.approx([40.0, 20.0, 10.0], abs=8.0)


def test_pull_now_repeats_each_five_seconds_until_off() -> None:
    readings = rising("left", 0.2, 300.0, 45.0, 0.05)  # reaches 54.0 at 180.2 s, over at 214.2 s
    effects = run(ONE, in_time_order([on(0.1)], readings, [off(200.4, "left")]))
    now = [c for c in calls(effects) if c.call is CallKind.PULL_NOW]
    assert len({c.id for c in now}) == 1
    assert [b.t - a.t for a, b in itertools.pairwise(now)] == [5.0] * (len(now) - 1)
    assert now[-1].t <= 200.0
    assert not any(c.call is CallKind.OVER for c in calls(effects))


def test_over_replaces_pull_now_while_the_steak_stays_on() -> None:
    effects = run(ONE, in_time_order([on(0.1)], rising("left", 0.2, 240.0, 45.0, 0.05)))
    over_t = next(c.t for c in calls(effects) if c.call is CallKind.OVER)
    assert 210.0 < over_t < 220.0
    assert all(c.call is not CallKind.PULL_NOW for c in calls(effects) if c.t >= over_t)


def test_a_steak_that_is_off_is_never_told_to_be_pulled() -> None:
    effects = run(HEADER, in_time_order(two_steak_cook(), [off(200.0, "left")]))
    late = [c for c in calls(effects) if c.t > 200.0 and "left" in c.steaks]
    assert not [c for c in late if c.call in (CallKind.PULL_SOON, CallKind.PULL_NOW)]


def test_acknowledging_forty_mutes_twenty_and_ten_but_never_now() -> None:
    events = in_time_order([on(0.1)], rising("left", 0.2, 360.0, 5.0, 49.0 / 350.0))
    cook = Cook(ONE)
    said: list[Call] = []
    for event in events:
        for call in calls(cook.apply(event)):
            said.append(call)
            if call.in_s == 40.0:
                cook.apply(Acknowledgement(event.t, call.id, "phone"))
    pulls = [c for c in said if c.call in (CallKind.PULL_SOON, CallKind.PULL_NOW)]
    assert [c.in_s for c in pulls if c.call is CallKind.PULL_SOON] == [40.0]
    assert any(c.call is CallKind.PULL_NOW for c in pulls)


def test_an_acknowledged_alarm_does_not_sound_again() -> None:
    cook = Cook(ONE)
    said: list[Call] = []
    for event in in_time_order([on(0.1)], rising("left", 0.2, 200.0, 45.0, 0.05)):
        for call in calls(cook.apply(event)):
            if call.call is CallKind.PULL_NOW:
                said.append(call)
                cook.apply(Acknowledgement(event.t, call.id, "phone"))
                cook.apply(Acknowledgement(event.t, call.id, "phone"))
    assert len(said) == 1


def test_turn_and_flip_of_both_steaks_are_called_as_one() -> None:
    effects = run(HEADER, [on(0.0, "left"), on(4.0, "right")], until=242.0)
    flips = [c for c in calls(effects) if c.call is CallKind.FLIP]
    assert [(c.t, c.steaks, c.text) for c in flips] == [
        (230.0, ("left", "right"), "Both: flip in 10"),
        (240.0, ("left", "right"), "Both: flip now"),
    ]


def test_acts_more_than_ten_seconds_apart_are_called_one_by_one() -> None:
    effects = run(HEADER, [on(0.0, "left"), on(30.0, "right")], until=151.0)
    turns = [(c.t, c.text) for c in calls(effects) if c.in_s == 10.0]
    assert turns == [(110.0, "Left: turn in 10"), (140.0, "Right: turn in 10")]


def test_an_act_done_early_is_not_called() -> None:
    early = Mark(235.0, None, MarkKind.FLIP, "m1")
    effects = run(HEADER, [on(0.0), early], until=300.0)
    assert [c.t for c in calls(effects) if c.call is CallKind.FLIP] == [230.0]


def test_a_silent_probe_is_lost_and_found_after_three_good_readings() -> None:
    events = in_time_order(
        [on(0.1)],
        rising("left", 0.2, 60.0, 5.0, 0.02),
        rising("left", 100.0, 110.0, 7.0, 0.02),
    )
    cook = Cook(ONE)
    lost_from = lost_until = 0.0
    for event in events:
        for effect in cook.apply(event):
            if isinstance(effect, Call) and effect.call is CallKind.PROBE_LOST and not lost_from:
                lost_from = effect.t
            elif not isinstance(effect, Call | Forecast):
                lost_until = effect.t
    assert lost_from == 81.0
    assert lost_until == 101.0


def test_undo_takes_a_mark_back_as_if_it_had_never_been() -> None:
    cook, plain = Cook(HEADER), Cook(HEADER)
    events = two_steak_cook(100.0)
    for event in events:
        cook.apply(event)
        plain.apply(event)
    cook.apply(off(100.2, "left"))
    assert cook.steaks["left"].phase == "resting"
    cook.apply(Undo(100.4, "off-left-100.2"))
    assert cook.steaks["left"].phase == "on"
    assert cook.advance(103.0) == plain.advance(103.0)


def test_a_backdated_mark_counts_from_when_it_happened() -> None:
    cook = Cook(HEADER)
    cook.apply(Mark(50.0, "left", MarkKind.ON, "m1", at=20.0))
    assert cook.steaks["left"].on_t == 20.0
    assert [c.text for c in calls(cook.advance(131.0))] == ["Left: turn in 10"]


def test_a_changed_pull_temperature_moves_the_pull() -> None:
    events = in_time_order([on(0.1)], rising("left", 0.2, 200.0, 40.0, 0.05))
    higher = in_time_order(events, [Setting(100.0, "left", "pull_c", 58.0)])
    before = [e for e in run(ONE, events) if isinstance(e, Forecast)][-1].pull_in_s
    after = [e for e in run(ONE, higher) if isinstance(e, Forecast)][-1].pull_in_s
    assert before and after
    assert after.p50 - before.p50 == pytest.approx(4.0 / 0.05, rel=0.3)


@pytest.mark.parametrize(
    ("event", "says"),
    [
        (Mark(1.0, "left", MarkKind.FLIP), "mark it on first"),
        (Mark(1.0, "left", MarkKind.OFF), "mark it on first"),
        (Mark(1.0, "middle", MarkKind.ON), "There is no steak 'middle'"),
        (Mark(1.0, "left", MarkKind.LID_OPEN), "without a steak"),
        (Mark(1.0, "left", MarkKind.ON, at=5.0), "not into the future"),
        (Spot(1.0, "left", 5000.0), "check the number and its unit"),
        (Spot(1.0, "left", 106.0), r"not a temperature of the middle of a steak.*-30 to 105 C"),
        (Spot(1.0, "left", -31.0), r"not a temperature of the middle of a steak.*-22 to 221 F"),
        (Setting(1.0, "left", "pull_c", 500.0), "between 30 and 90"),
        (Setting(1.0, "left", "colour", 5.0), "has no setting 'colour'"),
        (Undo(1.0, "nothing"), "undone already"),
        (Acknowledgement(1.0, "c99", "phone"), "no such call"),
    ],
)
def test_an_input_that_makes_no_sense_is_refused_with_advice(event: Input, says: str) -> None:
    with pytest.raises(RefusedError, match=says):
        Cook(HEADER).check(event)


@pytest.mark.parametrize(
    "spot", [Spot(1.0, "left", 105.0), Spot(1.0, "left", -30.0), Spot(1.0, None, 106.0)]
)
def test_a_core_up_to_boiling_is_taken_and_a_grate_may_be_hotter(spot: Spot) -> None:
    Cook(HEADER).check(spot)


def test_a_steak_cannot_go_on_twice() -> None:
    cook = Cook(HEADER)
    cook.apply(on(1.0, "left"))
    with pytest.raises(RefusedError, match="Left cannot be put on, it is still on the grill"):
        cook.check(on(2.0, "left"))


def test_an_unknown_name_is_a_kind_of_refusal() -> None:
    with pytest.raises(UnknownNameError):
        Cook(HEADER).check(Spot(1.0, "middle", 30.0))


def test_odd_marks_of_an_old_log_change_nothing_and_do_not_raise() -> None:
    cook = Cook(HEADER)
    for kind in (MarkKind.FLIP, MarkKind.OFF, MarkKind.BOXED, MarkKind.TURN):
        cook.apply(Mark(1.0, "left", kind))
    cook.apply(Reading(1.0, "nobody", 20.0))
    assert cook.steaks["left"].phase == "waiting"


@settings(max_examples=20)
@given(st.lists(st.floats(0.0, 0.9), min_size=1, max_size=8), st.integers(0, 10_000))
def test_ticks_run_late_give_the_same_effects(delays: list[float], seed: int) -> None:
    """A live site advances at odd moments; stamps keep that from changing anything."""
    live, logged, effects = Cook(ONE), [], []
    at = 0.0
    for k in range(120):
        at += 0.5
        delay = delays[(seed + k) % len(delays)]
        effects += live.advance(at + delay)
        event: Input = Reading(live.stamp(at), "left", 20.0 + 0.1 * at)
        if k == 10:
            event = on(live.stamp(at), "left")
        logged.append(event)
        effects += live.apply(event)
    effects += live.advance(61.0)
    assert run(ONE, logged, until=61.0) == effects


def test_a_mark_for_all_reaches_only_the_steaks_it_fits() -> None:
    """Boxing the one that rests says nothing about the one that is on."""
    events = in_time_order(two_steak_cook(330.0), [off(250.0, "left")])
    boxed = in_time_order(events, [Mark(260.0, None, MarkKind.BOXED, "b")])
    assert kinds(run(HEADER, events), "right") == kinds(run(HEADER, boxed), "right")


def test_a_mark_dated_back_before_the_one_it_follows_is_refused() -> None:
    cook = Cook(HEADER)
    cook.apply(on(10.0, "left"))
    cook.apply(off(100.0, "left"))
    with pytest.raises(RefusedError, match="does not fit the marks around it"):
        cook.check(Mark(200.0, "left", MarkKind.BOXED, at=50.0))
    cook.check(Mark(200.0, "left", MarkKind.BOXED, at=150.0))


def test_a_probe_that_was_never_heard_is_lost_too() -> None:
    header = replace(ONE, steaks=(replace(ONE.steaks[0], channel="p/1"),))
    effects = run(header, [on(0.0)], until=40.0)
    assert [c.t for c in calls(effects) if c.call is CallKind.PROBE_LOST] == [21.0]


def test_a_steak_without_a_probe_loses_none() -> None:
    assert not [c for c in calls(run(ONE, [on(0.0)], until=60.0)) if c.call is CallKind.PROBE_LOST]


def test_answering_a_pull_call_twice_says_so_once() -> None:
    cook = Cook(ONE)
    answers: list[Effect] = []
    for event in in_time_order([on(0.1)], rising("left", 0.2, 330.0, 5.0, 49.0 / 350.0)):
        for call in calls(cook.apply(event)):
            if call.in_s == 40.0:
                answers += cook.apply(Acknowledgement(event.t, call.id, "one"))
                answers += cook.apply(Acknowledgement(event.t, call.id, "two"))
    assert len(answers) == 1


def test_a_spot_that_shows_time_left_takes_pull_now_back_and_counts_down_again() -> None:
    spots: list[Input] = [
        Spot(200.0, "left", 36.0, "s1"),
        Spot(260.0, "left", 46.0, "s2"),
        Spot(330.0, "left", 48.0, "s3"),
    ]
    effects = run(ONE, in_time_order([on(0.0)], spots), until=370.0)
    said = [(c.call, c.t) for c in calls(effects) if c.call in PULLS]
    first_now = next(t for call, t in said if call is CallKind.PULL_NOW)
    assert first_now < 330.0
    after = [call for call, t in said if 332.0 <= t <= 345.0]
    assert CallKind.PULL_NOW not in after
    assert any(isinstance(e, StateChange) and e.t >= 330.0 for e in effects)


def test_an_announced_lead_ends_when_the_steak_is_off() -> None:
    events = in_time_order([on(0.1)], rising("left", 0.2, 330.0, 5.0, 49.0 / 350.0))
    effects = run(ONE, in_time_order(events, [off(320.0, "left")]))
    soon = {c.id for c in calls(effects) if c.call is CallKind.PULL_SOON}
    assert soon
    assert {e.id for e in effects if isinstance(e, StateChange)} >= soon


@pytest.mark.parametrize("undone", ["flip", "baste"])
def test_of_two_marks_at_one_moment_either_can_be_undone(undone: str) -> None:
    marks = [
        Mark(240.0, "left", MarkKind.FLIP, "flip"),
        Mark(240.0, "left", MarkKind.BASTE, "baste"),
    ]
    cook, plain = Cook(ONE), Cook(ONE)
    for event in in_time_order([on(0.1)], rising("left", 0.2, 250.0, 5.0, 0.15), marks):
        cook.apply(event)
        if not (isinstance(event, Mark) and event.id == undone):
            plain.apply(event)
    cook.apply(Undo(250.5, undone))
    forecasts = [[e for e in c.advance(256.0) if isinstance(e, Forecast)] for c in (cook, plain)]
    assert forecasts[0][-3:] == forecasts[1][-3:]


def test_a_backlog_of_one_stamp_while_a_probe_jumps_does_no_harm() -> None:
    """A loop that stood still stamps what waited with one moment."""
    cook = Cook(HEADER)
    cook.apply(on(0.5))
    for t in range(1, 120):
        cook.apply(Reading(float(t), "left", 20.0 + t * 0.1, "p/1"))
    for t in range(120, 200):
        for _ in range(3):
            cook.apply(Reading(float(t), "left", 50.0, "p/1"))
    assert cook.steaks["left"].last_reading is not None

"""The twin of a cook has no faults, and only what cannot be explained counts as a difference."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from pullcall.events import Call, CallKind, Condition, CookHeader, Fault, Reading, SteakSettings
from pullcall.log.call_records import call_record
from pullcall.log.cook_file import CookFile
from pullcall.log.replay import replay
from tests.recorded import short_cook
from tests.soak.day import Day, Plan
from tests.soak.faults import Kind, faults
from tests.soak.samples import Sample, slope
from tests.soak.twin import Difference, Taped, compare, compare_cook, twin
from tests.soak.verdict import Verdict

HEADER = CookHeader("c", "2026-06-13T13:40:00Z", (SteakSettings("left", channel="p/1"),))
ZERO = 100.0


def _cook(*inputs: Any) -> CookFile:
    return CookFile(HEADER, inputs, (), ())


def _said(t: float, kind: str = "flip", steak: str = "left", priority: int = 1) -> dict[str, Any]:
    return {
        "t": t,
        "call": kind,
        "steak": steak,
        "in_s": 10.0,
        "text": f"{steak}: {kind}",
        "id": f"{kind}-{t}",
        "priority": priority,
    }


def _call(t: float, kind: CallKind = CallKind.FLIP) -> Call:
    return Call(t, "c1", ("left",), kind, 10.0, 1, "Left: flip")


def test_a_twin_has_the_readings_that_were_lost_and_the_values_that_were_spoiled() -> None:
    logged = _cook(
        Reading(1.0, "left", 10.0, "p/1"),
        Condition(2.0, Fault.UNHEARD, True),
        Reading(3.0, "left", 30.0, "p/1"),
        Reading(4.0, "left", 13.0, "p/1"),
    )
    tape = [
        Taped(101.0, "p/1", 10.0, "same"),
        Taped(102.0, "p/1", 11.0, "lost"),
        Taped(103.0, "p/1", 12.0, "spoiled"),
        Taped(104.0, "p/1", 13.0, "same"),
    ]
    assert twin(logged, tape, ZERO).inputs == tuple(
        Reading(float(t), "left", 9.0 + t, "p/1") for t in (1, 2, 3, 4)
    )


def test_a_reading_that_was_never_taped_is_an_error() -> None:
    with pytest.raises(ValueError, match="does not have"):
        twin(_cook(Reading(1.0, "left", 10.0, "p/1")), [], ZERO)


def test_calls_that_tell_of_faults_are_not_compared() -> None:
    found = compare([_said(5.0), _said(6.0, "unheard")], [_call(5.0)], [])
    assert (found.equal, found.unexplained) == (1, [])


def test_a_call_that_is_put_off_by_seconds_is_near_and_not_equal() -> None:
    found = compare([_said(9.0)], [_call(5.0)], [])
    assert (found.equal, found.near, found.unexplained) == (0, 1, [])


def test_what_is_not_urgent_may_wait_while_a_fault_is_told_and_what_is_may_not() -> None:
    unheard = _said(140.0, "unheard")
    assert compare([unheard, _said(155.0, priority=3)], [], []).near == 1
    assert len(compare([unheard, _said(155.0, priority=1)], [], []).unexplained) == 1
    assert len(compare([unheard, _said(161.0, priority=3)], [], []).unexplained) == 1


def test_repeats_of_an_alarm_are_not_compared() -> None:
    again = {**_said(10.0), "t": 15.0}
    assert compare([_said(10.0), again], [_call(10.0)], []).equal == 1
    assert compare([_said(10.0), again], [_call(10.0)], []).unexplained == []


def test_a_missing_call_is_explained_by_lost_readings_before_it_only() -> None:
    assert compare([], [_call(150.0)], [100.0]).lost_readings == 1
    assert len(compare([], [_call(150.0)], [151.0]).unexplained) == 1
    assert len(compare([], [_call(250.0)], [100.0]).unexplained) == 1


def test_a_steak_that_was_never_called_off_is_explained_by_nothing() -> None:
    found = compare([], [_call(150.0, CallKind.PULL_NOW)], [100.0])
    assert found.unexplained == ["missing: left was never called off"]
    found = compare([_said(180.0, "pull_now")], [_call(150.0, CallKind.PULL_NOW)], [100.0])
    assert "missing: left was never called off" not in found.unexplained


def test_a_call_that_only_the_faults_made_is_a_difference() -> None:
    assert compare([_said(5.0)], [], []).unexplained == ["only with faults: 5 s left: flip"]


def test_a_whole_cook_without_faults_equals_its_twin() -> None:
    cook = short_cook()
    calls = [effect for effect in replay(cook) if isinstance(effect, Call)]
    said = [call_record(call) for call in calls]
    tape = [
        Taped(one.t + ZERO, one.channel or "", one.celsius, "same")
        for one in cook.inputs
        if isinstance(one, Reading)
    ]
    found = compare_cook(cook, said, tape, ZERO)
    assert found.equal > 10
    assert (found.near, found.lost_readings, found.unexplained) == (0, 0, [])


def test_the_same_seed_gives_the_same_day_and_every_fault_comes_in_six_hours() -> None:
    day = list(faults(1, 1080.0))
    assert day == list(faults(1, 1080.0))
    assert day != list(faults(2, 1080.0))
    assert {fault.kind for fault in day} == set(Kind)


def _day(hours: float, mb_per_h: float) -> tuple[Day, Plan]:
    samples = [Sample(k / 10, 100.0 + mb_per_h * k / 10, 0.0, 18, 40) for k in range(10 * 6)]
    return Day(samples, exit_code=0), Plan(hours, 20.0, 1, Path())


def test_a_day_whose_memory_grows_is_a_defect_but_a_short_one_tells_nothing() -> None:
    assert list(Verdict(_day(6.0, 0.5)[0], Difference(equal=9), _day(6.0, 0.5)[1]).defects()) == []
    day, plan = _day(6.0, 1.5)
    (said,) = Verdict(day, Difference(equal=9), plan).defects()
    assert "memory grows by 1.50 MB" in said
    assert list(Verdict(day, Difference(equal=9), _day(0.5, 1.5)[1]).defects()) == []


def test_calls_that_nothing_explains_and_too_many_that_something_does_are_defects() -> None:
    day, plan = _day(6.0, 0.0)
    (said,) = Verdict(day, Difference(equal=9, unexplained=["missing: 5 s flip"]), plan).defects()
    assert "1 calls differ" in said
    (said,) = Verdict(day, Difference(equal=80, near=10, lost_readings=10), plan).defects()
    assert "20 calls were put off or changed" in said


def test_a_slope_is_not_moved_by_a_few_wild_points() -> None:
    points = [(x / 10, 50.0 + x / 10) for x in range(50)]
    points[7] = (0.7, 500.0)
    assert slope(points) == pytest.approx(1.0)

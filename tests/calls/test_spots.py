"""Steaks without a probe: when a spot is asked for, and what a pull by estimate says."""

from __future__ import annotations

import pytest

from pullcall.calls.text import spot_due
from pullcall.core.steak import SteakState
from pullcall.events import CallKind, MarkKind, PlannedMark, SteakSettings
from tests.calls.stage import PULL_C, Stage, forecast, on

#: The pull may come this soon, s, when a spot is asked for, and is no guess this long after one.
NEAR_S, AT_THE_PULL_S = 150.0, 60.0


def probeless(due: float, band_s: float = 120.0, flip_t: float | None = None) -> Stage:
    """A steak without a probe that went on at 0 and is to be pulled at ``due``."""
    pattern = () if flip_t is None else (PlannedMark(flip_t, MarkKind.FLIP),)
    stage = Stage("left", pattern=pattern)
    stage.steaks["left"] = SteakState(SteakSettings("left", pull_c=PULL_C), pattern)
    pulled_at(stage, due, band_s)
    stage.run(0.0)
    stage.mark(MarkKind.ON)
    return stage


def pulled_at(stage: Stage, due: float, band_s: float = 120.0) -> None:
    stage.says["left"] = lambda t: forecast(t, max(due - t, 0.0), band_s)


def spotted(stage: Stage, t: float, celsius: float = 40.0) -> None:
    stage.run(t)
    stage.spot("left", celsius)


def pulls(stage: Stage) -> set[str]:
    return {call.text for call in stage.said(CallKind.PULL_NOW)}


def test_a_spot_is_asked_for_in_time_as_the_pull_comes_near_on_an_old_one() -> None:
    stage = probeless(due=420.0)
    spotted(stage, 60.0)
    stage.run(240.0)
    (asked,) = stage.said(CallKind.SPOT_DUE)
    assert asked.t == 420.0 - 60.0 - NEAR_S
    assert asked.text == "Left: spot it, pull may come in 2 to 5 min"
    assert asked.priority == 2


def test_it_is_asked_for_once_more_where_none_comes_and_not_a_third_time() -> None:
    stage = probeless(due=1_000.0, band_s=1_700.0)
    stage.run(900.0)
    first, again = stage.times(CallKind.SPOT_DUE)
    assert 90.0 <= again - first < 100.0


def test_a_spot_ends_the_asking_and_a_fresh_one_is_enough() -> None:
    stage = probeless(due=420.0)
    stage.run(220.0)
    (asked,) = stage.said(CallKind.SPOT_DUE)
    spotted(stage, 320.0, 45.0)
    stage.run(415.0)
    assert stage.states(asked.id) == ["cleared"]
    assert all(t <= 320.0 for t in stage.times(CallKind.SPOT_DUE))


def test_it_is_not_asked_for_before_a_flip_nor_within_a_minute_after_it() -> None:
    stage = probeless(due=300.0, flip_t=230.0)
    stage.run(230.0)
    stage.mark(MarkKind.FLIP)
    stage.run(300.0)
    assert stage.times(CallKind.SPOT_DUE) == [290.0]


def test_a_flip_that_nobody_marks_does_not_put_it_off_for_long() -> None:
    stage = probeless(due=300.0, flip_t=230.0)
    stage.run(300.0)
    assert stage.times(CallKind.SPOT_DUE) == [250.0]


def test_a_flip_planned_for_after_the_pull_does_not_put_it_off() -> None:
    stage = probeless(due=330.0, flip_t=400.0)
    stage.run(130.0)
    assert stage.times(CallKind.SPOT_DUE) == [121.0]


def test_nothing_is_asked_for_once_the_pull_is_called() -> None:
    stage = probeless(due=130.0)
    stage.run(160.0)
    (asked,) = stage.said(CallKind.SPOT_DUE)
    assert stage.said(CallKind.PULL_NOW)
    assert stage.states(asked.id) == ["cleared"]
    stage.run(400.0)
    assert len(stage.said(CallKind.SPOT_DUE)) == 1


def test_a_steak_with_a_probe_is_asked_for_no_spot() -> None:
    stage = on()
    stage.pull_at(600.0)
    stage.run(590.0)
    assert stage.said(CallKind.SPOT_DUE) == []


def test_a_probe_that_is_assigned_and_silent_has_its_own_alarm() -> None:
    stage = on()
    pulled_at(stage, 300.0)
    stage.run(290.0)
    assert stage.said(CallKind.PROBE_LOST)
    assert stage.said(CallKind.SPOT_DUE) == []


def test_a_pull_known_by_no_thermometer_in_the_steak_says_so() -> None:
    stage = probeless(due=200.0)
    spotted(stage, 120.0, 45.0)
    stage.run(230.0)
    assert pulls(stage) == {"Left: pull now, by estimate: check it"}


def test_a_pull_that_a_spot_just_showed_is_no_estimate() -> None:
    stage = probeless(due=200.0)
    spotted(stage, 150.0, PULL_C + 0.2)
    pulled_at(stage, 150.0)
    stage.run(150.0 + AT_THE_PULL_S + 30.0)
    assert pulls(stage) == {"Left: pull now"}


def test_a_spot_at_the_pull_long_ago_makes_a_pull_no_measured_one() -> None:
    stage = probeless(due=300.0)
    spotted(stage, 120.0, PULL_C + 2.0)
    stage.run(310.0)
    assert pulls(stage) == {"Left: pull now, by estimate: check it"}


def test_a_pull_with_a_probe_is_no_estimate() -> None:
    stage = on()
    stage.pull_at(100.0)
    stage.run(110.0)
    assert pulls(stage) == {"Left: pull now"}


@pytest.mark.parametrize(
    ("low_s", "high_s", "when"),
    [(120.0, 230.0, "2 to 4 min"), (59.0, 61.0, "0 to 2 min"), (0.0, 0.0, "0 to 1 min")],
)
def test_when_the_pull_may_come_is_told_in_whole_minutes_around_it(
    low_s: float, high_s: float, when: str
) -> None:
    words = spot_due("left", low_s, high_s)
    assert words == f"Left: spot it, pull may come in {when}"

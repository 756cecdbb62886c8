"""A cook's fire, morning, plan, faults and proposals follow its inputs, undo included."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.core.cook import Cook
from pullcall.errors import RefusedError
from pullcall.events import (
    CarryOver,
    Condition,
    Fault,
    FireSettings,
    Forecast,
    Mark,
    MarkKind,
    PullBy,
    Reading,
    Setting,
    Spot,
    SteakSettings,
    Undo,
    Window,
)
from tests.cooks import HEADER, ONE, in_time_order, on, rising

WINDOW = Window("2026-06-13T15:00:00+00:00", "2026-06-13T15:30:00+00:00")
PLANNED = replace(HEADER, window=WINDOW, fire=FireSettings(channel="grate/1"))


def test_readings_of_the_grate_are_the_fire_and_nobody_else_s() -> None:
    cook = Cook(PLANNED)
    for t in range(30):
        cook.apply(Reading(float(t), None, 285.0, "grate/1"))
        cook.apply(Reading(float(t), None, 21.0, "other/1"))
    cook.advance(31.0)
    assert cook.fire_report is not None
    assert cook.fire_report.celsius == pytest.approx(285.0)


def test_a_spot_without_a_steak_is_the_grate_and_changes_no_forecast() -> None:
    cook = Cook(HEADER)
    cook.apply(on(1.0))
    before = len([e for e in cook.advance(29.0) if isinstance(e, Forecast)])
    assert before == 2 * 29
    assert [e for e in cook.apply(Spot(29.5, None, 290.0, "s")) if isinstance(e, Forecast)] == []
    cook.advance(32.0)
    assert cook.fire_report is not None
    assert cook.fire_report.celsius == 290.0
    assert all(s.last_spot is None for s in cook.steaks.values())


def test_marks_of_the_morning_move_the_plan_and_can_be_undone() -> None:
    cook = Cook(PLANNED)
    cook.apply(Mark(10.0, None, MarkKind.LIT, "lit", at=5.0))
    cook.advance(12.0)
    assert cook.plan is not None
    done = {step.name: step.done_t for step in cook.plan.steps}
    assert (done["light"], done["pour"]) == (5.0, None)
    cook.apply(Undo(20.0, "lit"))
    cook.advance(22.0)
    assert {step.done_t for step in cook.plan.steps if step.name == "light"} == {None}


def test_the_plan_stays_in_sight_until_the_next_one_is_worked_out() -> None:
    cook = Cook(PLANNED)
    cook.advance(8.0)
    shown = cook.plan
    assert shown is not None
    cook.apply(Mark(8.4, None, MarkKind.FETCHED, "fetched"))
    assert cook.plan is shown
    cook.advance(9.0)
    assert cook.plan is not shown, "a mark does not wait for the plan to grow old"


def test_a_setting_of_the_cook_is_undone_by_no_undo_of_a_mark() -> None:
    cook = Cook(HEADER)
    cook.apply(on(1.0))
    cook.apply(Setting(5.0, None, "rest_on", "board"))
    cook.apply(Setting(6.0, None, "carry_over", "five_degrees"))
    cook.apply(Undo(10.0, "on-None-1"))
    assert cook.setup.rest_on == "board"
    assert cook.setup.carry_over is CarryOver.FIVE_DEGREES


def test_a_fault_stands_from_its_first_news_to_its_end() -> None:
    cook = Cook(HEADER)
    cook.apply(Condition(3.0, Fault.UNHEARD, True))
    cook.apply(Condition(5.0, Fault.UNHEARD, True))
    assert dict(cook.faults()) == {(Fault.UNHEARD, ""): 3.0}
    cook.apply(Condition(9.0, Fault.UNHEARD, False))
    assert not cook.faults()


def forecast_at(cook: Cook, t: float) -> Forecast:
    cook.advance(t)
    return cook.forecasts["left"]


def cooked(steak: SteakSettings, until: float = 250.0) -> Cook:
    header = replace(ONE, steaks=(steak,))
    cook = Cook(header)
    for event in in_time_order([on(0.1)], rising("left", 0.2, until, 5.0, 0.16)):
        cook.apply(event)
    return cook


def test_with_a_target_the_pull_temperature_follows_from_the_carry_over() -> None:
    steak = replace(ONE.steaks[0], target_c=57.0, pull_by=PullBy.TARGET)
    found = forecast_at(cooked(steak), 251.0)
    assert found.aim_c is not None
    assert found.pull_c == found.aim_c.p50
    assert found.pull_c is not None and found.pull_c < 57.0
    assert found.peak_c is not None
    assert found.peak_c.p50 == pytest.approx(57.0, abs=0.5)


def test_under_the_plain_rule_the_pull_lies_five_degrees_f_below_the_target() -> None:
    steak = replace(ONE.steaks[0], target_c=57.0, pull_by=PullBy.TARGET)
    cook = cooked(steak)
    cook.apply(Setting(250.5, None, "carry_over", "five_degrees"))
    pull_c = forecast_at(cook, 252.0).pull_c
    assert pull_c == pytest.approx(57.0 - 5.0 / 1.8, abs=0.05)  # five degrees F


def test_a_pull_shifted_later_by_choice_comes_later() -> None:
    usual = forecast_at(cooked(ONE.steaks[0]), 251.0)
    later = forecast_at(cooked(replace(ONE.steaks[0], shift_c=1.0)), 251.0)
    assert (usual.pull_c, later.pull_c) == (54.0, 55.0)
    assert usual.pull_in_s is not None and later.pull_in_s is not None
    assert later.pull_in_s.p50 > usual.pull_in_s.p50 + 3.0  # one kelvin at 0.16 K/s


@pytest.mark.parametrize(
    ("setting", "says"),
    [
        (Setting(1.0, "left", "pull_by", "luck"), "pull_by is one of"),
        (Setting(1.0, "left", "shift_c", 9.0), "shift_c must lie between"),
        (Setting(1.0, "left", "look", "two\nlines"), "one line"),
        (Setting(1.0, None, "grate_channel", "no channel"), "not a probe's channel"),
    ],
)
def test_settings_nobody_means_are_refused(setting: Setting, says: str) -> None:
    with pytest.raises(RefusedError, match=says):
        Cook(HEADER).check(setting)


def test_a_planned_flip_nobody_tapped_is_proposed_and_can_be_dismissed() -> None:
    cook = Cook(HEADER)
    cook.apply(on(0.0, "left"))
    cook.advance(290.0)
    (flip,) = (p for p in cook.proposals() if p.mark is MarkKind.FLIP)
    assert flip.steak == "left"
    cook.check(Undo(291.0, flip.id))
    cook.apply(Undo(291.0, flip.id))
    assert flip.id not in {p.id for p in cook.proposals()}

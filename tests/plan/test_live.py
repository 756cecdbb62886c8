"""The plan while the day goes on."""

from __future__ import annotations

from copy import deepcopy

import pytest

from pullcall.events import CookHeader, MarkKind, Quantiles
from pullcall.plan.chance import SURE
from pullcall.plan.live import LivePlan, live_plan
from pullcall.plan.progress import Progress, SteakProgress
from tests.plan.days import LEFT, MIN, RIGHT, cook, minutes, nothing_but

#: The window opens at minute 120 and closes at 150.
WINDOW = (120 * MIN, 150 * MIN)
USUAL = cook({})


def live(
    now: float, *steaks: SteakProgress, header: CookHeader = USUAL, hot: bool | None = True
) -> LivePlan:
    return live_plan(now * MIN, WINDOW, header, Progress(steaks=steaks, grate_over_floor=hot))


def off(steak: str, on: float, off: float) -> SteakProgress:
    return SteakProgress(steak, on * MIN, off * MIN)


def test_without_a_window_only_the_gap_and_the_offset_are_told() -> None:
    plan = live_plan(0.0, None, USUAL, Progress())
    assert (plan.chance, plan.slack_s, plan.hand_in_t) == (None, None, None)
    assert (len(plan.steps), len(plan.advice)) == (0, 0)
    assert plan.gap_s is not None
    assert plan.offset is not None


def test_the_gap_is_what_two_forecasts_say() -> None:
    # Without spread the second comes off 570 - 530 s after the first.
    on = [
        SteakProgress(name, on_t=0.0, pull_in_s=Quantiles(s, s, s))
        for name, s in (("left", 530.0), ("right", 570.0))
    ]
    plan = live(5.0, *on)
    assert plan.gap_s == Quantiles(40.0, 40.0, 40.0)
    assert plan.offset is None
    assert live(5.0, on[1], on[0]).gap_s == Quantiles(40.0, 40.0, 40.0)


def test_the_gap_counts_from_a_pull_that_was_and_ends_with_the_second() -> None:
    on = SteakProgress("right", on_t=0.0, pull_in_s=Quantiles(60.0, 60.0, 60.0))
    assert live(11.0, off("left", 0, 10), on).gap_s == Quantiles(120.0, 120.0, 120.0)
    assert live(13.0, off("left", 0, 10), off("right", 0, 12)).gap_s is None


def test_an_offset_is_kept_by_the_plan_and_shows_as_gap() -> None:
    header = cook(nothing_but(cook=minutes(10, 10)), offset_s=90.0)
    assert live(100.0, header=header).gap_s == Quantiles(90.0, 90.0, 90.0)


def test_once_the_first_is_on_the_offset_is_no_less_than_what_has_passed() -> None:
    header = cook(nothing_but(cook=minutes(10, 10)))
    on = SteakProgress("left", on_t=100 * MIN, pull_in_s=Quantiles(600.0, 600.0, 600.0))
    soon = live(100.0, on, header=header).offset
    on = SteakProgress("left", on_t=100 * MIN, pull_in_s=Quantiles(480.0, 480.0, 480.0))
    later = live(102.0, on, header=header).offset
    assert soon is not None and later is not None
    assert (soon.offset_s, later.offset_s) == (30.0, 120.0)
    assert later.gap_s == Quantiles(120.0, 120.0, 120.0)


def test_handed_in_is_certain_either_way() -> None:
    assert live(131.0, SteakProgress("left", handed_in_t=130 * MIN)).chance == 1.0
    assert live(119.0, SteakProgress("left", handed_in_t=118 * MIN)).chance == 0.0
    late = live(152.0, SteakProgress("left", handed_in_t=151 * MIN))
    assert (late.chance, late.slack_s, late.advice) == (0.0, None, ())
    assert late.hand_in_t == Quantiles(*(151 * MIN,) * 3)


def test_hand_in_is_never_before_the_window_opens_and_aims_at_the_aim_point() -> None:
    early = live(100.0, off("left", 80, 90), off("right", 80, 90), header=cook({}, aim=0.0))
    assert early.hand_in_t is not None
    assert early.hand_in_t.p10 >= WINDOW[0]
    assert early.chance == 1.0
    fixed = cook(nothing_but(cook=minutes(10, 10), walk=minutes(3, 3)), aim=0.5)
    planned = live(0.0, header=fixed).hand_in_t
    assert planned is not None
    assert planned.p50 == pytest.approx(135 * MIN)


def test_waiting_for_a_late_aim_point_costs_chance_that_beginning_now_keeps() -> None:
    plan = live(60.0, header=cook({}, aim=1.0))
    assert plan.chance is not None and plan.as_planned is not None
    assert plan.chance > 0.99
    # Half of all days take longer than the middle lengths add up to.
    assert plan.as_planned < 0.8


def test_time_that_passes_before_the_steaks_are_on_is_taken_from_the_slack() -> None:
    one, two = live(90.0), live(93.0)
    assert one.slack_s is not None and two.slack_s is not None
    assert one.slack_s - two.slack_s == pytest.approx(180.0)


def test_marks_done_are_in_the_steps_and_the_last_moment_ends_with_on() -> None:
    plan = live(108.0, SteakProgress("left", on_t=107 * MIN))
    done = {(s.name, s.steak): s.done_t for s in plan.steps}
    assert done["cook", "left"] == done["light", None] == 107 * MIN
    assert done["cook", "right"] is None
    assert plan.last_on_t.keys() == {"right"}


def test_a_steak_can_go_on_until_its_last_moment_and_no_later() -> None:
    header = cook({}, (LEFT,))
    last = live(100.0, header=header).last_on_t["left"]

    def chance(now: float) -> float:
        ready = Progress({MarkKind.FETCHED: now}, (), grate_over_floor=True)
        found = live_plan(now, WINDOW, header, ready).chance
        assert found is not None
        return found

    assert chance(last) == pytest.approx(SURE)
    assert chance(last + 30.0) < SURE < chance(last - 30.0)


def test_a_box_not_yet_handed_in_has_its_whole_walk_ahead() -> None:
    # Nobody marks leaving, so the walk counts from now: 148 + U(2, 5) by 150 is 0, 146 + U(2, 5)
    # by 150 is two thirds. Standard error 1.1 %.
    boxed = SteakProgress("left", on_t=120 * MIN, off_t=130 * MIN, boxed_t=139 * MIN)
    assert live(148.0, boxed).chance == pytest.approx(0.0)
    assert live(146.0, boxed).chance == pytest.approx(2 / 3, abs=0.04)


def test_a_plan_can_be_copied_for_undo() -> None:
    plan = live(100.0)
    assert deepcopy(plan) == plan


def test_one_steak_has_no_gap() -> None:
    plan = live(100.0, header=cook({}, (RIGHT,)))
    assert plan.gap_s is None
    assert plan.offset is None

"""The day laid backward, against examples worked by hand in minutes."""

from __future__ import annotations

from itertools import pairwise
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.events import MarkKind, Quantiles, Range, SteakSettings
from pullcall.plan.backward import Plan, PlanStep, plan_backward
from pullcall.plan.progress import Progress, SteakProgress
from tests.plan.days import LEFT, MIN, RIGHT, minutes

#: Minutes; the middles are 15, 30, 17, 3, 20, 4, 10, 8, 2 and 3.
DURATIONS = {
    "season": minutes(10, 20),
    "cold": minutes(30, 30),
    "light": minutes(14, 20),
    "pour": minutes(2, 4),
    "heat_up": minutes(15, 25),
    "fetch": minutes(3, 5),
    "cook": minutes(9, 11),
    "rest": minutes(7, 9),
    "box": minutes(1, 3),
    "walk": minutes(2, 4),
}
#: The window opens at minute 120 and closes at 150; a third in is minute 130.
OPENS, CLOSES = 120.0, 150.0


def plan(now: float = 0.0, offset: float = 0.0, progress: Progress | None = None) -> Plan:
    return plan_backward(
        OPENS * MIN,
        CLOSES * MIN,
        DURATIONS,
        (LEFT, RIGHT),
        1 / 3,
        now * MIN,
        offset * MIN,
        progress or Progress(),
    )


def marked(*steaks: SteakProgress, hot: bool | None = None, **done: float) -> Progress:
    marks = MappingProxyType({MarkKind(kind): t * MIN for kind, t in done.items()})
    return Progress(marks, steaks, hot)


def step(plan: Plan, name: str, steak: str | None = None) -> PlanStep:
    (found,) = (s for s in plan.steps if (s.name, s.steak) == (name, steak))
    return found


# Worked by hand. Recommended, from 130 with middles: walk 130 - 3 = 127, box 127 - 2 = 125, rest
# 125 - 8 = 117, on 117 - 10 = 107; fetch 107 - 4 = 103, cold 103 - 30 = 73, season 73 - 15 = 58;
# heat up 107 - 20 = 87, pour 87 - 3 = 84, light 84 - 17 = 67.
# Latest, from 150 with the longest: walk 146, box 143, rest 134, on 123; fetch 118, cold 88,
# season 68; heat up 98, pour 94, light 74.
# Earliest, from 0 with the shortest: season 0, cold 10, fetch 40, ready 43; light 0, pour 14,
# heat up 16, ready 31. So on 43, off 52, rested 59, boxed 60, handed in 62.
BY_HAND = {
    ("season", None): (58, 68, 0),
    ("cold", None): (73, 88, 10),
    ("fetch", None): (103, 118, 40),
    ("light", None): (67, 74, 0),
    ("pour", None): (84, 94, 14),
    ("heat_up", None): (87, 98, 16),
    ("cook", "left"): (107, 123, 43),
    ("cook", "right"): (107, 123, 43),
    ("rest", "left"): (117, 134, 52),
    ("rest", "right"): (117, 134, 52),
    ("box", None): (125, 143, 59),
    ("walk", None): (127, 146, 60),
    ("hand_in", None): (130, 150, 62),
}


def test_the_day_worked_by_hand() -> None:
    found = {
        (s.name, s.steak): (s.recommended_t / MIN, s.latest_t / MIN, s.earliest_t / MIN)
        for s in plan().steps
    }
    assert found.keys() == BY_HAND.keys()
    for key, times in BY_HAND.items():
        assert found[key] == pytest.approx(times), key


def test_slack_is_latest_less_recommended_and_the_least_is_critical() -> None:
    day = plan()
    assert step(day, "light").slack_s / MIN == pytest.approx(74 - 67)
    assert step(day, "season").slack_s / MIN == pytest.approx(68 - 58)
    assert [s.name for s in day.steps if s.critical] == ["light"]
    assert day.critical == step(day, "light")


def test_the_second_steak_goes_on_later_and_both_are_rested_for_the_box() -> None:
    # Right is on 4 min after left, so left has to be on 4 min sooner than alone: 103 and 107.
    day = plan(offset=4.0)
    on = [step(day, "cook", steak).recommended_t / MIN for steak in ("left", "right")]
    assert on == pytest.approx([103, 107])
    assert [step(day, "cook", s).latest_t / MIN for s in ("left", "right")] == pytest.approx(
        [119, 123]
    )
    assert step(day, "rest", "left").recommended_t / MIN == pytest.approx(113)
    # Each may be pulled until the box needs it rested, whatever the offset.
    assert step(day, "rest", "left").latest_t / MIN == pytest.approx(134)
    assert step(day, "fetch").recommended_t / MIN == pytest.approx(99)
    assert step(day, "box").recommended_t / MIN == pytest.approx(125)


def test_when_it_is_late_slack_counts_from_the_soonest_it_can_begin() -> None:
    # At 70: season at once; lit at 70, 4 min before its latest. On not before 70 + 43 = 113.
    day = plan(now=70.0)
    assert step(day, "light").slack_s / MIN == pytest.approx(74 - 70)
    assert step(day, "season").slack_s / MIN == pytest.approx(68 - 70)
    assert step(day, "season").critical
    assert step(day, "cook", "left").earliest_t / MIN == pytest.approx(113)


def test_what_was_marked_moves_what_follows() -> None:
    # Lit at 80 instead of 67: poured at 80 + 17 = 97, hot at 97 + 3 + 20 = 120, so on at 120.
    day = plan(now=80.0, progress=marked(seasoned=60.0, lit=80.0))
    assert step(day, "light").done_t == 80.0 * MIN
    assert step(day, "light").recommended_t / MIN == pytest.approx(67)
    assert step(day, "pour").recommended_t / MIN == pytest.approx(97)
    assert step(day, "heat_up").recommended_t / MIN == pytest.approx(100)
    assert step(day, "cook", "left").recommended_t / MIN == pytest.approx(120)
    assert step(day, "fetch").recommended_t / MIN == pytest.approx(103)
    assert not step(day, "light").critical


def test_what_comes_next_keeps_its_time_while_a_step_runs() -> None:
    # Lit at 80, so the coal is poured at 97 by the middle: also when that has passed unmarked.
    for now in (85.0, 96.0, 99.0, 105.0):
        day = plan(now, progress=marked(seasoned=60.0, lit=80.0))
        assert step(day, "pour").recommended_t / MIN == pytest.approx(97)


def test_a_steak_that_is_still_on_is_not_boxed_before_it_can_be_off() -> None:
    # On at 107 and still on at 121, past its longest: off at once, then rested at 121 + 8.
    on = [SteakProgress(name, on_t=107 * MIN) for name in ("left", "right")]
    day = plan(now=121.0, progress=marked(*on))
    assert step(day, "rest", "left").recommended_t / MIN == pytest.approx(121)
    assert step(day, "box").recommended_t / MIN == pytest.approx(129)


def test_a_later_mark_says_that_earlier_steps_are_done() -> None:
    day = plan(now=110.0, progress=marked(SteakProgress("left", on_t=108 * MIN)))
    done = {s.name: s.done_t for s in day.steps if s.steak is None}
    assert done == {
        **dict.fromkeys(("season", "cold", "light", "pour", "heat_up", "fetch"), 108 * MIN),
        **dict.fromkeys(("box", "walk", "hand_in")),
    }
    assert step(day, "cook", "left").done_t == 108 * MIN
    assert step(day, "cook", "right").done_t is None


def test_once_a_thick_one_is_on_the_thin_one_has_its_own_time() -> None:
    # Together, the thin one would have gone on with the thick one, which takes four times as long.
    thick = SteakSettings("left", thickness_mm=64.0)
    own = {name: range_ for name, range_ in DURATIONS.items() if name != "cook"}

    def latest(progress: Progress) -> float:
        window = OPENS * MIN, CLOSES * MIN
        day = plan_backward(*window, own, (thick, RIGHT), 1 / 3, 80 * MIN, 0.0, progress)
        return step(day, "cook", "right").latest_t / MIN

    assert latest(marked()) == pytest.approx(134 - 4 * 12)
    assert latest(marked(SteakProgress("left", on_t=80 * MIN))) == pytest.approx(134 - 12)


def test_a_hot_grate_needs_no_marks_of_the_fire() -> None:
    day = plan(now=100.0, progress=marked(hot=True, seasoned=60.0))
    assert step(day, "light").done_t == step(day, "pour").done_t == 100.0 * MIN
    assert step(day, "cook", "left").earliest_t / MIN == pytest.approx(103)


def test_a_forecast_replaces_the_range_of_the_cook() -> None:
    forecast = Quantiles(8 * MIN, 9 * MIN, 11 * MIN)
    on = SteakProgress("left", on_t=107 * MIN, pull_in_s=forecast)
    day = plan(now=112.0, progress=marked(on, SteakProgress("right", on_t=107 * MIN)))
    # Left comes off at 112 + 9 = 121, is rested at 129; right is expected off at 107 + 10.
    assert step(day, "rest", "left").recommended_t / MIN == pytest.approx(121)
    assert step(day, "rest", "right").recommended_t / MIN == pytest.approx(117)
    assert step(day, "box").recommended_t / MIN == pytest.approx(129)


def test_the_box_does_not_wait_for_a_steak_that_is_too_late_for_the_window() -> None:
    off = SteakProgress("left", on_t=115 * MIN, off_t=126 * MIN)
    late = SteakProgress("right", on_t=128 * MIN, pull_in_s=Quantiles(10 * MIN, 11 * MIN, 12 * MIN))
    # Left is rested at 126 + 8 = 134. Right would be off at 141, rested at 149, boxed at 151.
    day = plan(now=130.0, progress=marked(off, late))
    assert step(day, "box").recommended_t / MIN == pytest.approx(134)


def test_what_is_in_the_box_only_has_to_be_walked() -> None:
    boxed = SteakProgress("left", on_t=100 * MIN, off_t=110 * MIN, boxed_t=118 * MIN)
    day = plan(now=119.0, progress=marked(boxed))
    assert step(day, "box").done_t == 118 * MIN
    assert day.critical is not None
    handed = SteakProgress("left", handed_in_t=131 * MIN)
    done = plan(now=132.0, progress=marked(handed, SteakProgress("right", handed_in_t=131 * MIN)))
    assert done.critical is None
    assert step(done, "hand_in").done_t == 131 * MIN


ranges = st.tuples(st.integers(0, 3600), st.integers(0, 3600)).map(
    lambda pair: Range(float(min(pair)), float(max(pair)))
)
durations = st.fixed_dictionaries(dict.fromkeys(DURATIONS, ranges))


@given(durations, st.integers(1, 7200), st.integers(0, 1200))
def test_a_later_window_moves_every_step_by_exactly_as_much(
    own: dict[str, Range], later: int, offset: int
) -> None:
    def laid(shift: float) -> Plan:
        opens, closes = 90_000.0 + shift, 91_800.0 + shift
        return plan_backward(opens, closes, own, (LEFT, RIGHT), 0.5, 0.0, float(offset))

    for one, other in zip(laid(0.0).steps, laid(float(later)).steps, strict=True):
        assert other.recommended_t - one.recommended_t == pytest.approx(later, abs=1e-6)
        assert other.latest_t - one.latest_t == pytest.approx(later, abs=1e-6)
        assert other.slack_s == pytest.approx(one.slack_s, abs=1e-6)


@given(durations)
def test_steps_of_a_branch_follow_each_other(own: dict[str, Range]) -> None:
    day = plan_backward(90_000.0, 91_800.0, own, (LEFT,), 0.5, 0.0)
    for chain in (("season", "cold", "fetch", "cook"), ("light", "pour", "heat_up", "cook")):
        steps = [step(day, name, "left" if name == "cook" else None) for name in chain]
        for before, after in pairwise(steps):
            middle = (before.low_s + before.high_s) / 2
            assert before.recommended_t + middle == pytest.approx(after.recommended_t)
            assert before.latest_t + before.high_s == pytest.approx(after.latest_t)
            assert before.earliest_t + before.low_s <= after.earliest_t + 1e-6

"""Advice is given where it raises the chance, with the figure that it then has."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.events import MarkKind, Quantiles, Range
from pullcall.plan.live import LivePlan, live_plan
from pullcall.plan.progress import Progress, SteakProgress
from pullcall.plan.say import percent, span
from pullcall.plan.steps import takes
from tests.plan.days import MIN, cook, minutes

#: The window opens at minute 120 and closes at 150.
WINDOW = (120 * MIN, 150 * MIN)
READY = Progress({MarkKind.FETCHED: 100 * MIN}, (), grate_over_floor=True)
USUAL = cook({})


def live(now: float, progress: Progress, rest: Range | None = None) -> LivePlan:
    header = cook({"rest": rest} if rest else {})
    return live_plan(now * MIN, WINDOW, header, progress)


def says(plan: LivePlan, *words: str) -> list[str]:
    return [advice for advice in plan.advice if all(word in advice for word in words)]


def told(share: float | None) -> str:
    assert share is not None
    return percent(share)


@pytest.mark.parametrize("now", [124.5, 125.0, 126.0, 127.0])
def test_putting_on_now_is_advised_with_both_figures(now: float) -> None:
    plan, waited = live(now, READY), live(now + 2.0, READY)
    assert says(plan, "Put left on now", told(plan.chance), told(waited.chance))


def test_only_what_can_be_begun_is_advised_to_be_begun() -> None:
    # Pouring has the least slack, but the chimney was lit 3 min ago and takes 15 at least.
    quick = cook({"season": minutes(4, 4)})
    lit = Progress({MarkKind.LIT: 83 * MIN})
    plan = live_plan(86 * MIN, WINDOW, quick, lit)
    assert plan.chance is not None and 0.1 < plan.chance < 0.9
    assert plan.critical is not None and plan.critical.name == "pour"
    assert says(plan, "Season the steaks now")
    assert not says(plan, "Pour the coal now")


@pytest.mark.parametrize("now", [125.0, 126.0, 128.0])
def test_a_shorter_rest_is_advised_with_the_chance_it_has(now: float) -> None:
    shortest = takes("rest", {}).low_s
    plan, cut = live(now, READY), live(now, READY, Range(shortest, shortest))
    assert cut.chance is not None and plan.chance is not None
    assert cut.chance > plan.chance
    (sentence,) = says(plan, "Rest 7 min instead of 8.5")
    assert sentence.endswith(f"{percent(cut.chance)} instead of {percent(plan.chance)}.")


def test_a_rest_that_cannot_be_cut_is_not_advised() -> None:
    plan = live(126.0, READY, Range(480.0, 480.0))
    assert plan.chance is not None and plan.chance < 0.9
    assert not says(plan, "Rest")


def test_after_off_the_rest_is_cut_to_what_is_left_of_the_least() -> None:
    off = SteakProgress("left", on_t=120 * MIN, off_t=136 * MIN)
    progress = Progress(steaks=(off, SteakProgress("right", off_t=136 * MIN)))
    plan = live(139.0, progress)
    cut = live(139.0, progress, Range(420.0, 420.0))
    assert says(plan, "Rest 7 min", told(cut.chance))
    # The forecast asks for five minutes more: eight in all is the least.
    asks = replace(off, rest_in_s=300.0)
    held = Progress(steaks=(asks, replace(asks, steak="right")))
    assert says(live(139.0, held), "Rest 8 min")


def test_the_earlier_steak_is_advised_when_both_would_be_late() -> None:
    off = SteakProgress("left", on_t=120 * MIN, off_t=130 * MIN)
    late = SteakProgress("right", on_t=128 * MIN, pull_in_s=Quantiles(400.0, 480.0, 560.0))
    plan = live(131.0, Progress(steaks=(off, late)))
    assert plan.choice is not None and plan.chance is not None
    assert plan.choice < plan.chance
    assert says(
        plan, "Turn in left without waiting for right", told(plan.chance), told(plan.choice)
    )


def test_as_long_as_both_will_do_none_is_advised_to_be_left() -> None:
    off = SteakProgress("left", on_t=120 * MIN, off_t=125 * MIN)
    late = SteakProgress("right", on_t=124 * MIN, pull_in_s=Quantiles(440.0, 465.0, 490.0))
    plan = live(126.0, Progress(steaks=(off, late)))
    assert plan.choice is not None and plan.chance is not None
    assert 0.9 <= plan.choice <= plan.chance - 0.02
    assert plan.advice == ()


def test_seasoning_is_not_asked_for_where_the_fire_is_what_is_late() -> None:
    quick = cook({"season": minutes(1, 1), "cold": minutes(1, 1)})
    lit = {MarkKind.LIT: 85 * MIN}
    plan = live_plan(85 * MIN, WINDOW, quick, Progress(lit))
    tapped = Progress({**lit, MarkKind.SEASONED: 60 * MIN})
    assert plan.chance is not None and 0.3 < plan.chance < 0.9
    assert live_plan(85 * MIN, WINDOW, quick, tapped).chance == plan.chance
    assert says(plan, "Rest 7 min")
    assert not says(plan, "seasoned already")


def test_seasoning_that_was_not_tapped_is_asked_for() -> None:
    hot = Progress(grate_over_floor=True)
    plan = live(90.0, hot)
    (sentence,) = says(plan, "seasoned already, mark it on the page")
    tapped = Progress({MarkKind.SEASONED: 60 * MIN}, (), grate_over_floor=True)
    assert told(live(90.0, tapped).chance) in sentence


def test_when_early_it_says_how_long_and_never_to_hand_in() -> None:
    off = SteakProgress("left", on_t=80 * MIN, off_t=90 * MIN)
    both = (off, replace(off, steak="right"))
    plan = live(108.2, Progress(steaks=both))
    assert plan.advice == ("Hand-in opens in 12 min: let it rest on until then.",)
    boxed = tuple(replace(s, boxed_t=107 * MIN) for s in both)
    plan = live(108.2, Progress(steaks=boxed))
    assert plan.advice == ("Hand-in opens in 12 min: keep the box closed until then.",)
    assert live(121.0, Progress(steaks=both)).advice == ()


def test_with_a_good_chance_and_nothing_to_wait_for_it_says_nothing() -> None:
    assert live(110.0, READY).advice == ()


def test_a_closed_window_is_said() -> None:
    assert live(150.1, READY).advice == ("The window has closed.",)


def test_no_advice_claims_less_than_it_is_worth() -> None:
    # Hopelessly late: no change raises the chance, so none is advised.
    assert live(149.0, READY).advice == ()


def test_chances_are_never_told_as_certain() -> None:
    assert [percent(p) for p in (0.0, 0.004, 0.5, 0.984, 1.0)] == [
        "under 1 %",
        "under 1 %",
        "50 %",
        "98 %",
        "over 99 %",
    ]


def test_spans_are_whole_minutes_and_never_rounded_up() -> None:
    assert [span(s) for s in (59.0, 60.0, 419.0, 4380.0)] == [
        "0 min",
        "1 min",
        "6 min",
        "1 h 13 min",
    ]


def test_a_morning_that_was_not_tapped_at_all_is_asked_for() -> None:
    plan = live(95.0, Progress())
    (sentence,) = says(plan, "the steaks are seasoned and the coal is poured already")
    assert told(plan.chance) in sentence


def test_steaks_put_on_far_too_early_are_told_so() -> None:
    on = SteakProgress("left", on_t=40 * MIN)
    plan = live(41.0, Progress(steaks=(on, replace(on, steak="right"))))
    assert says(plan, "min before turn-in opens: a long rest.")
    plan = live(41.0, Progress(steaks=(on, SteakProgress("right"))))
    assert says(plan, "min before turn-in opens", "put right on later")
    in_time = SteakProgress("left", on_t=100 * MIN)
    plan = live(101.0, Progress(steaks=(in_time, replace(in_time, steak="right"))))
    assert not says(plan, "before turn-in opens")

"""What a cook's own durations teach."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from pullcall.events import Range
from pullcall.hindsight.facts import CookFacts
from pullcall.learning.choice import Choice, Mode
from pullcall.learning.learn import learn, taught
from pullcall.learning.lesson import Lesson
from pullcall.plan.steps import STEP
from tests.learning.made_up import USUAL, cook, walked


def lesson(name: str, facts: list[CookFacts], *choices: Choice) -> Lesson:
    return next(one for one in learn(facts, USUAL, choices) if one.name == name)


def test_the_default_is_the_middle_of_the_plans_range() -> None:
    walk = lesson("walk", [])
    assert (walk.default, walk.learned, walk.in_force) == (210.0, None, 210.0)


def test_a_longer_walk_each_time_is_learned_and_planned_for() -> None:
    lessons = learn([walked(480.0, n) for n in range(5)], USUAL, ())
    walk = next(one for one in lessons if one.name == "walk")
    assert walk.learned is not None
    assert 400.0 < walk.learned < 480.0
    planned = taught(USUAL, lessons).durations["walk"]
    assert planned.low_s < walk.learned < planned.high_s
    assert math.sqrt(planned.low_s * planned.high_s) == pytest.approx(walk.learned, rel=0.01)


def test_one_cook_moves_the_walk_little_and_five_most_of_the_way() -> None:
    one, five = (lesson("walk", [walked(420.0, n) for n in range(k)]).learned for k in (1, 5))
    assert one is not None and five is not None
    assert 210.0 < one < five < 420.0


def test_a_cook_who_forgot_to_tap_moves_nothing() -> None:
    """Handed in was tapped six hours later."""
    alike = [walked(240.0, n) for n in range(4)]
    without, with_it = lesson("walk", alike), lesson("walk", [*alike, walked(21_600.0, 9)])
    assert without.learned is not None and with_it.learned is not None
    assert with_it.learned == pytest.approx(without.learned, rel=0.05)
    assert with_it.evidence[-1].weight < 0.2


def test_two_taps_in_a_row_were_no_walk() -> None:
    assert lesson("walk", [walked(2.0)]).learned is None


def test_a_box_ready_before_the_window_opened_teaches_no_walk_and_no_boxing() -> None:
    waited = [walked(900.0, n, boxed_t=1000.0, opens_t=1500.0) for n in range(5)]
    assert lesson("walk", waited).learned is None
    assert lesson("box", waited).learned is None
    assert lesson("box", [walked(200.0)]).evidence[0].value == 100.0


def test_the_configurations_own_duration_is_the_default_and_an_own_figure_overrides_it() -> None:
    usual = replace(USUAL, durations={"walk": Range(60.0, 80.0)})
    assert taught(usual, learn([], usual, ())).durations == {"walk": Range(60.0, 80.0)}
    own = Choice("2026-06-19", "walk", Mode.OWN, 600.0)
    lessons = learn([], usual, (own,))
    walk = next(one for one in lessons if one.name == "walk")
    assert (walk.default, walk.in_force) == (70.0, 600.0)
    planned = taught(usual, lessons).durations["walk"]
    assert planned.low_s < 600.0 < planned.high_s


def test_what_was_learned_is_not_in_force_once_put_back() -> None:
    facts = [walked(480.0, n) for n in range(5)]
    lessons = learn(facts, USUAL, (Choice("2026-06-19", "walk", Mode.DEFAULT),))
    assert "walk" not in taught(USUAL, lessons).durations
    again = Choice("2026-06-20", "walk", Mode.LEARNED)
    lessons = learn(facts, USUAL, (again, Choice("2026-06-19", "walk", Mode.DEFAULT)))
    assert "walk" in taught(USUAL, lessons).durations


def test_a_slow_hand_is_called_earlier() -> None:
    reaction = lesson("reaction", [cook(n, reaction_s=5.0) for n in range(5)])
    assert reaction.learned is not None
    assert 4.0 < reaction.learned < 5.0
    lessons = learn([cook(n, reaction_s=5.0) for n in range(5)], USUAL, ())
    assert taught(USUAL, lessons).lessons.reaction_s == pytest.approx(reaction.learned, abs=0.01)


def test_a_reaction_is_never_learned_longer_than_eight_seconds() -> None:
    assert lesson("reaction", [cook(n, reaction_s=19.0) for n in range(9)]).learned == 8.0


def test_every_learned_step_is_one_of_the_plans() -> None:
    steps = [one.name for one in learn([], USUAL, ()) if one.name in STEP]
    assert steps == ["heat_up", "box", "walk"]


def test_an_own_range_is_as_wide_as_days_differ_whatever_the_cooks_did() -> None:
    """Cooks that differ widely make a learned range wide; an own figure is sure but for the day."""
    facts = [walked(took_s, n) for n, took_s in enumerate((60.0, 240.0, 900.0, 120.0, 1500.0))]
    own = Choice("2026-06-19", "walk", Mode.OWN, 300.0)
    of_own, of_learned = lesson("walk", facts, own).range_, lesson("walk", facts).range_
    assert of_own is not None and of_learned is not None
    assert of_own == lesson("walk", [], own).range_
    assert of_own.high_s / of_own.low_s == pytest.approx(
        math.exp(2.0 * math.sqrt(3.0) * 0.40), 0.01
    )
    assert of_learned.high_s / of_learned.low_s > 1.2 * of_own.high_s / of_own.low_s


def test_boxing_is_from_the_last_rested_to_the_first_boxed() -> None:
    one = walked(200.0).steaks[0]
    for first, second in (((850.0, 1050.0), (900.0, 1000.0)), ((900.0, 1000.0), (850.0, 1050.0))):
        steaks = tuple(
            replace(one, steak=name, rested_t=rested_t, boxed_t=boxed_t)
            for name, (rested_t, boxed_t) in (("left", first), ("right", second))
        )
        assert lesson("box", [replace(walked(200.0), steaks=steaks)]).evidence[0].value == 100.0

"""All lessons together, and the cook that begins with them."""

from __future__ import annotations

from dataclasses import replace

from pullcall.events import Lessons, Quantiles, Range
from pullcall.hindsight.facts import CookFacts, LeadScore
from pullcall.learning.choice import Choice, Mode
from pullcall.learning.learn import NAMES, learn, taught, untaught
from pullcall.learning.lesson import words
from tests.learning.made_up import USUAL, cook, walked


def narrow(number: int, error_s: float) -> CookFacts:
    """A cook whose pulls all fell ``error_s`` after the middle of a band of ten seconds a side."""
    one = cook(number, climb_c=4.0)
    leads = tuple(
        LeadScore(lead, 0.0, Quantiles(lead - 10.0, lead, lead + 10.0), lead + error_s, 0.0, 0.0)
        for lead in (60.0, 40.0, 20.0)
    )
    return replace(one, steaks=(replace(one.steaks[0], leads=leads),))


def test_every_lesson_is_there_in_its_order_without_any_cook() -> None:
    lessons = learn([], USUAL, ())
    assert tuple(lesson.name for lesson in lessons) == NAMES
    assert not any(lesson.is_changed or lesson.cooks for lesson in lessons)
    assert taught(USUAL, lessons) == USUAL


def test_cooks_without_a_mark_teach_nothing() -> None:
    lessons = learn([cook(n) for n in range(5)], USUAL, ())
    assert taught(USUAL, lessons) == USUAL


def test_simulated_cooks_teach_only_simulated_ones() -> None:
    facts = [cook(n, climb_c=5.0, simulated=True) for n in range(5)]
    assert taught(USUAL, learn(facts, USUAL, ())) == USUAL
    simulated = replace(USUAL, simulated=True)
    assert taught(simulated, learn(facts, simulated, ())).lessons.climb_c > 1.0


def test_a_band_that_held_too_few_pulls_is_widened() -> None:
    lessons = learn([narrow(n, 20.0) for n in range(10)], USUAL, ())
    band = next(one for one in lessons if one.name == "band")
    assert band.learned is not None
    assert 1.2 < band.learned < 2.0
    assert taught(USUAL, lessons).lessons.band == band.learned
    assert "held 0 of your 10 pulls" in band.why


def test_a_choice_of_default_for_everything_leaves_the_cook_as_it_was() -> None:
    facts = [walked(600.0, n) for n in range(4)] + [narrow(n, 20.0) for n in range(10, 20)]
    put_back = [Choice("2026-06-19", name, Mode.DEFAULT) for name in NAMES]
    lessons = learn(facts, USUAL, put_back)
    assert taught(USUAL, lessons) == USUAL
    walk = next(lesson for lesson in lessons if lesson.name == "walk")
    assert "not in use" in words(walk, "F")


def test_a_lesson_that_is_not_in_force_leaves_the_others_alone() -> None:
    facts = [replace(walked(600.0, n), setup=cook(n, climb_c=5.0).setup) for n in range(4)]
    facts += [cook(n, climb_c=5.0) for n in range(10, 14)]
    lessons = learn(facts, USUAL, (Choice("", "carry_over", Mode.DEFAULT),))
    new = taught(replace(USUAL, durations={"rest": Range(400.0, 500.0)}), lessons)
    assert new.lessons == Lessons(durations=("box", "walk"))
    assert set(new.durations) == {"rest", "box", "walk"}
    assert untaught(new).durations == {"rest": Range(400.0, 500.0)}

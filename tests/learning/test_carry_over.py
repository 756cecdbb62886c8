"""How much more or less a cook's steaks climb than told."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.events import CookHeader, Lessons, SteakSettings
from pullcall.hindsight.facts import CookFacts
from pullcall.learning.choice import Choice, Mode
from pullcall.learning.learn import learn, taught
from pullcall.learning.lesson import Lesson, words
from tests.learning.made_up import USUAL, cook


def learned(facts: list[CookFacts], *choices: Choice) -> tuple[Lesson, float]:
    """The lesson, and by how much it shifts the next cook's climb."""
    lessons = learn(facts, USUAL, choices)
    lesson = next(one for one in lessons if one.name == "carry_over")
    return lesson, taught(USUAL, lessons).lessons.climb_c


def climbing(by_c: float, count: int, told_c: float = 3.0) -> list[CookFacts]:
    return [cook(n, climb_c=told_c + by_c, told_c=told_c) for n in range(count)]


def test_steaks_that_climb_more_than_told_shift_the_next_cook() -> None:
    lesson, shift_c = learned(climbing(1.0, 5))
    assert lesson.default == pytest.approx(3.0)
    assert lesson.learned == pytest.approx(3.0 + shift_c, abs=0.01)
    assert 0.7 < shift_c < 1.0


def test_one_cook_shifts_it_less_than_five() -> None:
    assert 0.2 < learned(climbing(1.0, 1))[1] < learned(climbing(1.0, 5))[1]


def test_a_cook_whose_probe_was_pulled_out_teaches_nothing() -> None:
    lesson, shift_c = learned([cook(1)])
    assert (lesson.learned, lesson.cooks, shift_c) == (None, 0, 0.0)


def test_one_absurd_climb_moves_next_to_nothing() -> None:
    steady = climbing(0.5, 4)
    without, with_it = learned(steady)[1], learned([*steady, cook(9, climb_c=40.0)])[1]
    assert with_it == pytest.approx(without, abs=0.1)


def test_the_lesson_a_cook_ran_with_is_taken_out_of_what_it_was_told() -> None:
    """Told 4 with a lesson of one more; it climbed 4: the plain forecast was one too low."""
    ran_with = [cook(n, climb_c=4.0, told_c=4.0, lessons=Lessons(climb_c=1.0)) for n in range(5)]
    assert learned(ran_with)[1] == pytest.approx(learned(climbing(1.0, 5))[1], abs=0.02)


@pytest.mark.parametrize(
    "unlike", [{"thickness_mm": 44.0}, {"rest_on": "board"}, {"fire_c": 340.0}]
)
def test_unlike_cooks_count_less(unlike: dict[str, float | str]) -> None:
    """Two more cooks say which fire is usual."""
    usual = [cook(n, climb_c=3.0, fire_c=280.0) for n in (8, 9)]
    alike = cook(1, climb_c=5.0, fire_c=280.0)
    other = cook(1, climb_c=5.0, **({"fire_c": 280.0} | unlike))  # type: ignore[arg-type]
    assert 0.0 < learned([*usual, other])[1] < learned([*usual, alike])[1]


def test_an_own_climb_stands_for_itself_and_shifts_no_forecast() -> None:
    choice = Choice("", "carry_over", Mode.OWN, 2.5)
    lesson, shift_c = learned(climbing(1.0, 5), choice)
    assert (lesson.in_force, shift_c) == (2.5, 0.0)
    begun = taught(USUAL, learn(climbing(1.0, 5), USUAL, (choice,)))
    assert begun.lessons == Lessons(own_climb_c=2.5)
    assert "your own 2.5 C, default 3.0 C" in lesson.words


def test_a_difference_of_temperatures_has_no_thirty_two_in_fahrenheit() -> None:
    lesson, _ = learned(climbing(0.0, 4))
    assert words(lesson, "C") == "from your 4 cooks: 3.0 C, default 3.0 C"
    assert words(lesson, "F") == "from your 4 cooks: 5.4 F, default 5.4 F"


def test_without_any_cook_the_default_is_what_the_forecast_expects_of_such_a_steak() -> None:
    thin, thick = (
        next(
            one.default
            for one in learn([], replace(USUAL, steaks=(steak,)), ())
            if one.name == "carry_over"
        )
        for steak in (replace(USUAL.steaks[0], thickness_mm=mm) for mm in (24.0, 40.0))
    )
    assert 1.0 < thick < 9.0
    assert 1.0 < thin < 9.0


def begun_as(usual: CookHeader, facts: list[CookFacts]) -> float:
    return taught(usual, learn(facts, usual, ())).lessons.climb_c


def of_mm(*thick_mm: float) -> CookHeader:
    """A cook that begins with steaks so thick."""
    steaks = tuple(SteakSettings(f"s{n}", thickness_mm=mm) for n, mm in enumerate(thick_mm))
    return replace(USUAL, steaks=steaks)


def test_thin_steaks_teach_a_cook_that_begins_with_thick_ones_nothing() -> None:
    thin = [cook(n, climb_c=5.0, thickness_mm=25.0) for n in range(5)]
    assert begun_as(of_mm(25.0), thin) > 1.0
    assert begun_as(of_mm(50.0), thin) == 0.0


def test_of_two_unlike_steaks_the_mean_thickness_counts() -> None:
    facts = [cook(n, climb_c=5.0, thickness_mm=30.0) for n in range(5)]
    assert begun_as(of_mm(24.0, 36.0), facts) == begun_as(of_mm(30.0), facts)
    assert begun_as(of_mm(24.0, 24.0), facts) < begun_as(of_mm(30.0), facts)


def test_the_surface_that_the_cook_begins_with_counts() -> None:
    facts = [cook(n, climb_c=5.0, rest_on="board") for n in range(2)]
    assert begun_as(USUAL, facts) < begun_as(replace(USUAL, rest_on="board"), facts)

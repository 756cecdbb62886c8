"""The forecast's prior from what earlier cooks came to believe."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from pullcall.events import Lessons, Normal
from pullcall.forecast.prior import FIRE, STEAK, Unknown, taught_prior
from pullcall.hindsight.facts import CookFacts
from pullcall.learning.grill import BETWEEN, DOUBT, FARTHEST_SDS, NARROWEST
from pullcall.learning.learn import learn, taught
from pullcall.learning.lesson import Lesson, words
from tests.learning.made_up import USUAL, cook

LEVEL = next(unknown for unknown in FIRE if unknown.name == "hot_level")


def after(mean: float, sd: float, began: Normal) -> Normal:
    """What is believed once readings said N(mean, sd^2)."""
    precision = began.sd**-2 + sd**-2
    return Normal((began.mean / began.sd**2 + mean / sd**2) / precision, precision**-0.5)


def believing(mean: float, sd: float, count: int, began: Normal | None = None) -> list[CookFacts]:
    """Cooks whose readings said that of the level of the heat; ``began`` is their prior."""
    lessons = Lessons(prior={"hot_level": began}) if began else Lessons()
    began = began or Normal(LEVEL.mean, LEVEL.sd)
    believed = {"hot_level": after(mean, sd, began)}
    return [cook(n, believed=believed, lessons=lessons) for n in range(count)]


def grill(facts: list[CookFacts]) -> Lesson:
    return next(one for one in learn(facts, USUAL, ()) if one.name == "grill")


def test_it_is_the_posterior_of_the_grill_and_a_day_on_top() -> None:
    """The closed form: each cook tells of its day with the variance doubted."""
    found = grill(believing(118.0, 4.0, 3)).prior["hot_level"]
    between, day = BETWEEN * LEVEL.sd**2, (1.0 - BETWEEN) * LEVEL.sd**2
    of_one = 1.0 / (day + DOUBT * 4.0**2)
    precision = 1.0 / between + 3.0 * of_one
    assert found.mean == pytest.approx((LEVEL.mean / between + 354.0 * of_one) / precision)
    assert found.sd == pytest.approx(
        max(math.sqrt(1.0 / precision + day), NARROWEST * LEVEL.sd), rel=0.01
    )


def test_the_prior_that_a_cook_ran_with_is_not_counted_again() -> None:
    plain = grill(believing(118.0, 4.0, 3)).prior["hot_level"]
    taught_before = grill(believing(118.0, 4.0, 3, Normal(112.0, 9.0))).prior["hot_level"]
    assert taught_before.mean == pytest.approx(plain.mean)
    assert taught_before.sd == pytest.approx(plain.sd)


def test_a_cook_that_learned_nothing_new_says_nothing() -> None:
    unchanged = {u.name: Normal(u.mean, u.sd) for u in (*FIRE, *STEAK)}
    lesson = grill([cook(1, believed=unchanged)])
    assert (lesson.learned, lesson.cooks, dict(lesson.prior)) == (None, 0, {})
    assert taught(USUAL, [lesson]).lessons == Lessons()


def test_it_is_never_much_narrower_or_farther_than_what_is_believed_in_general() -> None:
    found = grill(believing(30.0, 0.5, 20)).prior["hot_level"]
    assert found.sd >= NARROWEST * LEVEL.sd
    assert found.mean >= LEVEL.mean - FARTHEST_SDS * LEVEL.sd


def test_one_cook_that_believed_something_absurd_moves_next_to_nothing() -> None:
    steady = believing(118.0, 4.0, 4)
    odd = believing(-400.0, 4.0, 1)
    without, with_it = (grill(facts).learned for facts in (steady, [*steady, *odd]))
    assert without is not None and with_it is not None
    assert with_it == pytest.approx(without, abs=0.5)


def test_what_it_teaches_is_what_the_forecast_takes() -> None:
    lessons = learn(believing(118.0, 4.0, 3), USUAL, ())
    prior = taught(USUAL, lessons).lessons.prior
    assert dict(taught_prior(prior)) == dict(prior) != {}


def test_its_words_tell_a_temperature() -> None:
    lesson = grill(believing(118.0, 1.0, 4))
    assert words(lesson, "C") == "from your 4 cooks: heat from below 118 C, default 122 C"
    assert words(lesson, "F") == "from your 4 cooks: heat from below 245 F, default 252 F"


def two_steaks(unknown: Unknown, mean: float, sd: float) -> CookFacts:
    """Readings of both steaks said that of an unknown."""
    believed = {unknown.name: after(mean, sd, Normal(unknown.mean, unknown.sd))}
    one = cook(1, believed=believed)
    return replace(one, steaks=(one.steaks[0], replace(one.steaks[0], steak="right")))


def test_evidence_is_half_as_sure_as_it_says() -> None:
    """By hand, at a spread of four: twice the variance, 32."""
    between, day = 0.7 * LEVEL.sd**2, 0.3 * LEVEL.sd**2
    of_one = 1.0 / (day + 32.0)
    wanted = (LEVEL.mean / between + 118.0 * of_one) / (1.0 / between + of_one)
    assert grill(believing(118.0, 4.0, 1)).prior["hot_level"].mean == pytest.approx(wanted)


@pytest.mark.parametrize("name, doubted", [("hot_level", 1.0), ("lag", 2.0)])
def test_two_steaks_say_of_one_fire_what_one_says_and_of_a_habit_are_doubted_more(
    name: str, doubted: float
) -> None:
    """Both have heard of the one fire, so theirs is one piece of evidence."""
    unknown = next(one for one in (*FIRE, *STEAK) if one.name == name)
    said, sd = unknown.mean + 0.5 * unknown.sd, 0.3 * unknown.sd
    found = grill([two_steaks(unknown, said, sd)]).prior[name]
    between, day = 0.7 * unknown.sd**2, 0.3 * unknown.sd**2
    of_one = 1.0 / (day + 2.0 * doubted * sd**2)
    wanted = (unknown.mean / between + said * of_one) / (1.0 / between + of_one)
    assert found.mean == pytest.approx(wanted, rel=1e-6)

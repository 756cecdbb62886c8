"""What went differently: named, with both figures, and nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.hindsight.facts import CookFacts
from pullcall.report.differences import Difference, differences
from tests.report.hand import alarm, cook, earlier_cooks, steak, with_steak


def named(found: tuple[Difference, ...]) -> set[tuple[str | None, str]]:
    return {(d.steak, d.measure.name) for d in found}


def one(facts: CookFacts, earlier: tuple[CookFacts, ...] | None = None) -> Difference:
    found = differences(facts, earlier_cooks()[-1:] if earlier is None else earlier)
    assert len(found) == 1, [d.words("F") for d in found]
    return found[0]


def test_the_same_cook_again_is_no_difference() -> None:
    assert differences(cook(), earlier_cooks()) == ()


def test_nothing_is_said_without_an_earlier_cook() -> None:
    assert differences(cook(), ()) == ()


def test_a_warmer_start_is_told_with_both_figures_and_what_follows() -> None:
    """558 s to the pull and 44.9 instead of 48.9 K to climb: 558 (1 - 0.918^0.565) = 26 s."""
    found = one(with_steak(cook(), 0, start_c=9.0))
    assert found.words("F") == (
        "Left: start temperature 48.2 F, 7.2 F warmer than last time (41.0 F): by simulated "
        "cooks about 25 s sooner at the pull."
    )
    assert "9.0 C, 4.0 C warmer than last time (5.0 C)" in found.words("C")


def test_what_lies_outside_what_was_simulated_has_no_consequence() -> None:
    found = one(with_steak(cook(), 0, start_c=25.0))
    assert "simulated" not in found.words("F")


def test_a_difference_from_the_usual_alone_is_told() -> None:
    """Last time it began as warm as now; the four before did not."""
    like = with_steak(cook(), 0, start_c=9.0)
    found = one(like, (*earlier_cooks(), like))
    assert found.usual == pytest.approx(5.0)
    assert found.words("C") == (
        "Left: start temperature 9.0 C, 4.0 C warmer than usual (5.0 C in 4 cooks) and as last "
        "time (9.0 C)."
    )


def test_two_earlier_cooks_say_nothing_usual() -> None:
    assert one(with_steak(cook(), 0, start_c=9.0), earlier_cooks()[:2]).usual is None


def test_the_weightiest_comes_first() -> None:
    facts = with_steak(with_steak(cook(), 0, start_c=8.0), 1, start_c=17.0)
    assert [d.steak for d in differences(facts, earlier_cooks())] == ["right", "left"]


def test_off_higher_says_what_that_does_to_the_peak() -> None:
    words = one(with_steak(cook(), 0, off_c=55.2, peak_c=None)).words("C")
    assert words.startswith("Left: core at off 55.2 C, 1.0 C higher than last time (54.2 C)")
    assert "about +0.8 C at the peak" in words


def test_a_peak_that_misses_its_target_as_much_is_told_once() -> None:
    facts = with_steak(cook(), 0, peak_c=59.0)
    assert named(differences(facts, earlier_cooks())) == {("left", "peak"), ("left", "climb")}


def test_slow_hands_are_told_with_what_they_cost() -> None:
    off_t = cook().steaks[0].off_t
    assert off_t is not None
    words = one(with_steak(cook(), 0, now_t=off_t - 15.0, cross_t=off_t - 14.0)).words("C")
    assert "“pull now” to off 15.0 s, 12.0 s longer than last time (3.0 s)" in words
    assert "+0.8 C at off, as fast as it rose" in words
    on_it = one(with_steak(cook(), 0, now_t=off_t - 15.0, cross_t=off_t - 2.0)).words("C")
    assert "at off, as fast" not in on_it, "called earlier for it, and left as last time"


def test_steaks_of_other_names_are_held_against_their_place() -> None:
    other = cook("b", (steak("front", start_c=12.0), steak("back", 140.0)))
    assert named(differences(cook(), (other,))) == {("left", "start")}


def test_a_steak_that_swapped_places_is_known_by_its_name() -> None:
    swapped = cook("b", (steak("right", 140.0), steak("left")))
    assert differences(cook(), (swapped,)) == ()


def test_a_cook_at_which_nothing_went_on_is_no_cook() -> None:
    nothing = cook("b")
    bare = tuple(type(s)(s.steak, s.settings) for s in nothing.steaks)
    earlier = (*earlier_cooks(), replace(nothing, steaks=bare))
    assert named(differences(with_steak(cook(), 0, start_c=9.0), earlier)) == {("left", "start")}


def test_alarms_are_the_cook_s() -> None:
    facts = replace(cook(), alarms=tuple(alarm(began_t=t) for t in (200.0, 300.0, 400.0)))
    found = one(facts)
    assert (found.steak, found.words("F")) == (None, "Alarms 3, 3 more than last time (0).")


def test_figures_not_known_are_no_difference() -> None:
    facts = with_steak(cook(), 0, start_c=None, peak_c=None, rise_at_off_c_per_min=None)
    assert differences(facts, earlier_cooks()) == ()

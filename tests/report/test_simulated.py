"""Simulated cooks that differ by one known thing: the report names that thing, and what it did.

The simulator is the project's own, so this shows that the figures hold of it, not of real meat.
"""

from __future__ import annotations

import pytest

from pullcall.hindsight.facts import CookFacts
from pullcall.report.advice import advise
from pullcall.report.differences import differences
from pullcall.report.sensitivity import PEAK_PER_PULL, later_s
from tests.report.kitchens import GRATE_C, PULL_C, cooked, crossing_s, scenario

BEFORE = scenario()
#: What follows of itself from a steak that cooks longer or shorter.
FOLLOWS = {"on_to_off", "flip_to_off", "climb", "peak", "against_target"}


def causes(facts: CookFacts) -> set[str]:
    found = differences(facts, [cooked(BEFORE)])
    return {d.measure.name for d in found} - FOLLOWS


def test_a_thicker_steak_is_named() -> None:
    assert causes(cooked(scenario(thick_mm=34.5))) == {"thickness"}


def test_a_colder_start_is_named() -> None:
    assert causes(cooked(scenario(start_c=2.5))) == {"start"}


def test_a_hotter_fire_is_named() -> None:
    assert causes(cooked(scenario(grate_c=GRATE_C + 25.0))) == {"grate_at_on", "grate_mean"}


def test_slow_hands_are_named() -> None:
    slow = cooked(scenario(reaction_s=14.0))
    assert causes(slow) <= {"reaction", "off", "against_pull"}
    assert "reaction" in causes(slow)
    first = advise(slow, [cooked(BEFORE)])[0]
    assert first.words == "Stand at the grate before “pull now” and take left off at “pull now”."


def test_only_slow_hands_are_advised_against_reaction() -> None:
    for same in (BEFORE, scenario(thick_mm=34.5), scenario(start_c=2.5)):
        assert not any("pull now" in advice.words for advice in advise(cooked(same), ()))


CHANGES = [
    ("start", 6.0, 9.0, BEFORE, scenario(start_c=9.0)),
    ("start", 2.0, 6.0, scenario(start_c=2.0), BEFORE),
    ("start", 16.0, 20.0, scenario(start_c=16.0), scenario(start_c=20.0)),
    ("thickness", 32.0, 33.5, BEFORE, scenario(thick_mm=33.5)),
    ("thickness", 40.0, 38.0, scenario(thick_mm=40.0), scenario(thick_mm=38.0)),
    ("thickness", 26.0, 27.5, scenario(thick_mm=26.0), scenario(thick_mm=27.5)),
    ("grate_mean", 285.0, 305.0, BEFORE, scenario(grate_c=305.0)),
    ("grate_mean", 270.0, 255.0, scenario(grate_c=270.0), scenario(grate_c=255.0)),
    ("grate_mean", 315.0, 330.0, scenario(grate_c=315.0), scenario(grate_c=330.0)),
]


@pytest.mark.parametrize("name, old, new, before, after", CHANGES)
def test_what_is_said_to_follow_follows(name, old, new, before, after) -> None:  # type: ignore[no-untyped-def]
    """Within 15 % of what the simulated steak does, or 5 s, anywhere between the limits."""
    came = crossing_s(after) - crossing_s(before)
    told = later_s(cooked(before).steaks[0], name, old, new)
    assert told is not None
    assert told == pytest.approx(came, rel=0.15, abs=5.0)
    assert (told > 0.0) is (came > 0.0)


def test_beyond_the_limits_nothing_is_said_to_follow() -> None:
    steak = cooked(BEFORE).steaks[0]
    assert later_s(steak, "start", 6.0, 30.0) is None
    assert later_s(steak, "thickness", 32.0, 50.0) is None
    assert later_s(steak, "reaction", 3.0, 9.0) is None


@pytest.mark.parametrize("pull_c", [52.0, 56.0])
def test_a_peak_follows_the_pull(pull_c: float) -> None:
    one, other = cooked(BEFORE).steaks[0], cooked(scenario(pull_c=pull_c)).steaks[0]
    assert one.peak_c is not None and other.peak_c is not None
    moved = (other.peak_c - one.peak_c) / (pull_c - PULL_C)
    assert moved == pytest.approx(PEAK_PER_PULL, abs=0.06)


def test_the_pull_that_is_advised_meets_the_target() -> None:
    """At 53.9 C over a hot fire the peak is above 57: cooked again as advised it is met."""
    first = scenario(grate_c=330.0, thick_mm=34.0, reaction_s=0.1)
    told = [a for a in advise(cooked(first), (), unit="C") if a.words.startswith("Pull left")]
    assert len(told) == 1
    pull_c = float(told[0].words.split("at ")[1].split(" C")[0])
    again = cooked(scenario(grate_c=330.0, thick_mm=34.0, reaction_s=0.1, pull_c=pull_c))
    before, after = cooked(first).steaks[0].peak_c, again.steaks[0].peak_c
    assert before is not None and after is not None
    assert abs(after - 57.0) < 0.25 < abs(before - 57.0)

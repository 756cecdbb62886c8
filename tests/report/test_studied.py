"""Simulated cooks that differ by one known thing, through the study: the report still names it.

The study sees readings and taps only, and "pull now" is when the cook was really called.
"""

from __future__ import annotations

import pytest

from pullcall.hindsight.facts import CookFacts
from pullcall.report.advice import advise
from pullcall.report.differences import Difference, differences
from pullcall.simulators.scenario import Scenario
from tests.report.kitchens import GRATE_C, crossing_s, scenario
from tests.report.studied import studied
from tests.report.test_simulated import FOLLOWS

BEFORE = scenario()


def causes(facts: CookFacts) -> dict[str, Difference]:
    found = differences(facts, [studied(BEFORE)])
    return {d.measure.name: d for d in found if d.measure.name not in FOLLOWS}


@pytest.mark.parametrize(
    "changed, named",
    [
        (scenario(thick_mm=34.5), {"thickness"}),
        (scenario(grate_c=GRATE_C + 25.0), {"grate_at_on", "grate_mean"}),
    ],
)
def test_what_was_changed_is_named_with_what_it_did(changed: Scenario, named: set[str]) -> None:
    found = causes(studied(changed))
    assert set(found) == named
    told = [d.later_s for d in found.values() if d.later_s is not None]
    assert told == [pytest.approx(crossing_s(changed) - crossing_s(BEFORE), rel=0.15, abs=5.0)]
    assert advise(studied(changed), [studied(BEFORE)]) == ()


def test_slow_hands_are_named_and_advised_with_what_they_cost() -> None:
    slow = studied(scenario(reaction_s=14.0))
    found = causes(slow)
    assert set(found) <= {"reaction", "off", "against_pull"}
    assert found["reaction"].this - (found["reaction"].last or 0.0) == pytest.approx(11.0, abs=1.5)
    (told,) = advise(slow, [studied(BEFORE)])
    assert told.words == "Stand at the grate by “10” and take left off at “pull now”."
    assert "16 s passed from “pull now” to off, 14 s of them past its pull" in told.reason

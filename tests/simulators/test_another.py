"""Another day's cook of a scenario differs in what a cook can tell afterwards."""

from __future__ import annotations

import pytest

from pullcall.simulators.another import HOTTER_C, THICKER_MM, UNLIKE_MM, WARMER_C, another
from pullcall.simulators.scenario import names, scenario

DEMO = scenario("demo")


@pytest.mark.parametrize("name", names())
def test_the_same_day_is_the_same_cook_and_another_day_another(name: str) -> None:
    assert scenario(name, 5) == scenario(name, 5)
    assert scenario(name, 5).steaks != scenario(name, 6).steaks
    assert scenario(name, 5).fire != scenario(name, 6).fire


def test_the_first_day_is_the_scenario_as_it_is_written() -> None:
    assert another(DEMO, 1) == DEMO


@pytest.mark.parametrize("day", range(2, 12))
def test_days_differ_by_no_more_than_is_said(day: int) -> None:
    other = scenario("demo", day)
    assert abs(other.fire.settled_c - DEMO.fire.settled_c) <= HOTTER_C
    for scene, usual in zip(other.steaks, DEMO.steaks, strict=True):
        assert abs(scene.cut.thickness_mm - usual.cut.thickness_mm) <= THICKER_MM + UNLIKE_MM + 0.05
        assert abs(scene.cut.start_c - usual.cut.start_c) <= WARMER_C + 0.05
        assert scene.channel == usual.channel
    assert other.habits.pull_reaction_s[0] >= 0.0


def test_who_never_boxes_does_not_begin_to() -> None:
    assert scenario("backyard", 3).habits.boxed_s is None

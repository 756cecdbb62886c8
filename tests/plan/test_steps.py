"""The table of steps is whole, and its defaults give way to the cook's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullcall.events import Range
from pullcall.plan.durations import format_range
from pullcall.plan.steps import NAMES, STEPS, Step, check_names, label, takes


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.name)
def test_every_step_has_a_range_a_reason_and_a_label(step: Step) -> None:
    name = step.name
    range_ = takes(name, {})
    assert 0.0 < range_.low_s <= range_.high_s
    assert len(step.reason.split()) > 4
    assert "{" not in label(name, "left")


def test_labels_name_the_steak() -> None:
    assert label("cook", "left") == "Put left on"
    assert label("light") == "Light the chimney"


def test_the_cooks_own_duration_goes_before_the_default() -> None:
    own = {"rest": Range(60.0, 90.0), "cook": Range(300.0, 300.0)}
    assert takes("rest", own) == Range(60.0, 90.0)
    assert takes("cook", own, 50.0) == Range(300.0, 300.0)
    assert takes("walk", own) == takes("walk", {})


def test_a_steak_of_twice_the_thickness_takes_four_times_as_long() -> None:
    # Equal Fourier numbers alpha t / L^2 mean equal temperatures (any text on conduction).
    usual, thick = takes("cook", {}, 32.0), takes("cook", {}, 64.0)
    assert thick.low_s == pytest.approx(4.0 * usual.low_s)
    assert thick.high_s == pytest.approx(4.0 * usual.high_s)


def test_a_name_that_is_no_step_is_refused_with_those_there_are() -> None:
    check_names(dict.fromkeys(NAMES, Range(1.0, 2.0)))
    with pytest.raises(ValueError, match="season, cold, light"):
        check_names({"roast": Range(1.0, 2.0)})


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.name)
def test_the_document_says_of_every_step_what_the_table_says(step: Step) -> None:
    document = (Path(__file__).parents[2] / "docs" / "plan.md").read_text()
    assert f"| `{step.name}` | {format_range(step.takes)} | {step.reason} |" in document

"""The stage of a cook follows from the phases of its steaks."""

from __future__ import annotations

import pytest

from pullcall.core.phase import Phase, Stage, stage_of


@pytest.mark.parametrize(
    ("phases", "stage"),
    [
        ({Phase.WAITING}, Stage.WAITING),
        ({Phase.WAITING, Phase.ON}, Stage.COOKING),
        ({Phase.ON, Phase.RESTING}, Stage.COOKING),
        ({Phase.WAITING, Phase.RESTING}, Stage.COOKING),
        ({Phase.RESTING, Phase.BOXED}, Stage.RESTING),
        ({Phase.BOXED}, Stage.RESTING),
        ({Phase.BOXED, Phase.HANDED_IN}, Stage.RESTING),
        ({Phase.HANDED_IN}, Stage.OVER),
    ],
)
def test_a_cook_is_no_further_than_its_slowest_steak(phases: set[Phase], stage: Stage) -> None:
    assert stage_of(phases) is stage

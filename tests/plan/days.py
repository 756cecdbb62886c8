"""Days for tests of the plan, in minutes: nobody checks a plan in seconds."""

from __future__ import annotations

from collections.abc import Mapping

from pullcall.events import CookHeader, Range, SteakSettings
from pullcall.plan.steps import NAMES

MIN = 60.0
LEFT, RIGHT = SteakSettings("left"), SteakSettings("right")


def minutes(low: float, high: float) -> Range:
    """A range given in minutes."""
    return Range(low * MIN, high * MIN)


def nothing_but(**own: Range) -> Mapping[str, Range]:
    """Durations where every other step takes no time."""
    return {**dict.fromkeys(NAMES, Range(0.0, 0.0)), **own}


def cook(
    durations: Mapping[str, Range],
    steaks: tuple[SteakSettings, ...] = (LEFT, RIGHT),
    aim: float = 1 / 3,
    offset_s: float = 0.0,
) -> CookHeader:
    """Settings of a cook with these durations."""
    return CookHeader(
        "test", "", steaks=steaks, aim_share=aim, durations=durations, offset_s=offset_s
    )

"""Made-up facts of cooks, as far as lessons look at them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from pullcall.events import CookHeader, Lessons, Normal, Quantiles, Range, SteakSettings
from pullcall.hindsight.facts import CookFacts, FireFacts, SteakFacts, StepFacts

USUAL = CookHeader("next", "2026-06-20T13:40:00+00:00", steaks=(SteakSettings("left"),))


def cook(
    number: int = 1,
    *,
    climb_c: float | None = None,
    told_c: float = 3.0,
    reaction_s: float | None = None,
    believed: Mapping[str, Normal] | None = None,
    lessons: Lessons | None = None,
    simulated: bool = False,
    thickness_mm: float = 32.0,
    rest_on: str = "rack",
    fire_c: float | None = None,
) -> CookFacts:
    """One cook of one steak; what is not given was not seen."""
    header = replace(
        USUAL,
        cook=f"c{number}",
        simulated=simulated,
        rest_on=rest_on,
        lessons=lessons or Lessons(),
    )
    steak = SteakFacts(
        "left",
        SteakSettings("left", thickness_mm=thickness_mm),
        off_t=None if reaction_s is None else 600.0 + reaction_s,
        now_t=None if reaction_s is None else 600.0,
        off_c=54.0,
        peak_c=None if climb_c is None else 54.0 + climb_c,
        climb_told_c=Quantiles(told_c - 0.5, told_c, told_c + 0.5),
        climb_taught_c=header.lessons.climb_c,
        believed=believed or {},
    )
    return CookFacts(header.cook, header, 1500.0, (steak,), FireFacts(mean_c=fire_c))


def walked(
    took_s: float, number: int = 1, boxed_t: float = 1000.0, opens_t: float = 0.0
) -> CookFacts:
    """A cook whose box was closed at ``boxed_t`` and handed in ``took_s`` later."""
    one = cook(number)
    steak = replace(one.steaks[0], boxed_t=boxed_t, handed_in_t=boxed_t + took_s, rested_t=900.0)
    step = StepFacts("walk", None, "Walk to turn-in", Range(120.0, 300.0), None, boxed_t, took_s)
    return replace(one, steaks=(steak,), steps=(step,), window_t=(opens_t, opens_t + 1800.0))

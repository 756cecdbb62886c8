"""A whole simulated cook of two steaks, from the morning to the box, and its study."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from pullcall.events import Input, Mark, MarkKind, Reading, Window
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.study import study
from pullcall.log.cook_file import CookFile, cook_lines, parse_cook_lines
from pullcall.simulators.kitchen import Kitchen, Outcome
from pullcall.simulators.scenario import scenario

WINDOW = Window("2026-06-13T13:58:00Z", "2026-06-13T14:28:00Z")
#: What was done before the first second, and how long before, s.
MORNING = (
    (MarkKind.SEASONED, 2700.0),
    (MarkKind.LIT, 2400.0),
    (MarkKind.POURED, 1380.0),
    (MarkKind.FETCHED, 60.0),
)
UNTIL_S = 1_400.0
DEMO = scenario("demo", 1)


@cache
def _cooked() -> tuple[Kitchen, tuple[Input, ...]]:
    kitchen, steaks = Kitchen(DEMO), {scene.channel: scene.steak for scene in DEMO.steaks}
    events = [
        replace(event, steak=steaks.get(event.channel)) if isinstance(event, Reading) else event
        for event in kitchen.advance(UNTIL_S)
    ]
    morning = [Mark(0.0, None, kind, f"m-{kind}", -ago_s) for kind, ago_s in MORNING]
    return kitchen, (*morning, *events)


def outcome(steak: str) -> Outcome:
    """What really happened to a steak."""
    return _cooked()[0].outcome(steak)


@cache
def demo_cook() -> CookFile:
    """The cook as its file gives it."""
    header = replace(DEMO.header(), window=WINDOW)
    return parse_cook_lines(cook_lines(header, _cooked()[1]))


@cache
def demo_facts() -> CookFacts:
    """What its study finds."""
    return study(demo_cook())

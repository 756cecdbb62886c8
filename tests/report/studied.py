"""Facts of the same simulated cooks as a study finds them: from readings and taps alone."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from pullcall.events import Reading
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.study import study
from pullcall.log.cook_file import cook_lines, parse_cook_lines
from pullcall.simulators.kitchen import Kitchen
from pullcall.simulators.scenario import Scenario

#: Long enough for the rest to pass its peak and the box to be closed, s.
UNTIL_S = 1_420.0


@cache
def studied(cook: Scenario) -> CookFacts:
    """What the log of such a cook of one steak shows afterwards."""
    (scene,) = cook.steaks
    events = [
        replace(event, steak=scene.steak)
        if isinstance(event, Reading) and event.channel == scene.channel
        else event
        for event in Kitchen(cook).advance(UNTIL_S)
    ]
    return study(parse_cook_lines(cook_lines(cook.header(), events)))

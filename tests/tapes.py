"""A simulated cook as messages, short enough for tests."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from pullcall.simulators.scenario import scenario
from pullcall.simulators.tape import Tape, tape_of


@cache
def first_minutes() -> Tape:
    """The first five minutes of the demo: on, turned, flipped."""
    return tape_of(replace(scenario("demo"), lasts_s=0.0))

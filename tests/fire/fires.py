"""Fires for tests: made by hand, so that what they do is known exactly."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import exp

from pullcall.events import FireSettings
from pullcall.fire.fire import Fire, FireReport

SETTINGS = FireSettings(floor_c=260.0, ceiling_c=398.9)
#: Air around the grill, Celsius.
AIR_C = 20.0


def probed(
    celsius: Callable[[float], float],
    end_t: float,
    step_s: float = 1.0,
    settings: FireSettings = SETTINGS,
) -> Fire:
    """A fire whose probe told ``celsius(t)`` every ``step_s`` from 0 to ``end_t``."""
    fire = Fire(settings)
    for k in range(round(end_t / step_s) + 1):
        fire.read(k * step_s, celsius(k * step_s))
    return fire


def spotted(spots: Iterable[tuple[float, float]], settings: FireSettings = SETTINGS) -> Fire:
    """A fire checked by infrared at these times."""
    fire = Fire(settings)
    for t, celsius in spots:
        fire.spot(t, celsius)
    return fire


def told(fire: Fire, now: float) -> FireReport:
    """Its report, which must be there."""
    report = fire.report(now)
    assert report is not None
    return report


def cooling(start_c: float, constant_s: float) -> Callable[[float], float]:
    """Newton's law of cooling: a body loses heat as its excess over the air."""
    return lambda t: AIR_C + (start_c - AIR_C) * exp(-t / constant_s)


def line(start_c: float, c_per_min: float) -> Callable[[float], float]:
    """A straight line."""
    return lambda t: start_c + c_per_min * t / 60.0

"""The frame of a plot: grid, temperatures at its left, minutes below."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from pullcall.hindsight.facts import Trace
from pullcall.report.degrees import Degrees
from pullcall.report.drawing import Point, faint, line, text
from pullcall.report.markup import Markup
from pullcall.report.scale import Scale, minute_step, round_step

#: Room for the temperatures at the left of a plot.
MARGIN = 40.0


def temperature_scale(celsius: Iterable[float], degrees: Degrees, top: float, low: float) -> Scale:
    """A scale in the reader's unit that holds all of them, with a little room above."""
    told = [degrees.number(c) for c in celsius] or [degrees.number(0.0), degrees.number(60.0)]
    step = 10.0 if degrees.letter == "F" else 5.0
    least = step * (min(told) // step)
    most = step * -(-(max(told) + 0.4 * step) // step)
    return Scale(least, max(most, least + step), low, top)


def temperatures(scale: Scale, left: float, right: float, degrees: Degrees) -> Iterator[Markup]:
    """Lines across the plot with their temperatures."""
    step = round_step(scale.high - scale.low, 7)
    for value in scale.ticks(step):
        y = scale.at(value)
        yield faint((left, y), (right, y))
        yield text((left - 5.0, y + 4.0), f"{value:g}", "end")
    yield text((left - 5.0, scale.end - 11.0), degrees.letter, "end", font_weight="700")


def minutes(scale: Scale, top: float, low: float, told: str) -> Iterator[Markup]:
    """Lines down the plot with the minutes below it, and what they count from."""
    step = minute_step(scale.high - scale.low, int((scale.end - scale.start) // 44))
    for value in scale.ticks(step):
        x = scale.at(value)
        yield faint((x, top), (x, low))
        yield text((x, low + 13.0), f"{value / 60.0:g}", "middle")
    yield line((scale.start, low), (scale.end, low))
    yield text((scale.end, low + 26.0), told, "end")


def points(trace: Trace, x: Scale, y: Scale, degrees: Degrees, zero_t: float) -> list[Point]:
    """The part of a trace that lies on the time scale, as places."""
    inside = [(t - zero_t, c) for t, c in trace if x.holds(t - zero_t)]
    return [(x.at(t), y.at(degrees.number(c))) for t, c in inside]


def value_at(trace: Trace, t: float) -> float | None:
    """The temperature at ``t``, straight between the neighbours; None outside the trace."""
    for (t0, c0), (t1, c1) in pairwise(trace):
        if t0 <= t <= t1:
            return c0 if t1 == t0 else c0 + (c1 - c0) * (t - t0) / (t1 - t0)
    return None

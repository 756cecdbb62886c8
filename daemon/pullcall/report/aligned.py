"""The cores of two to six cooks on one drawing, each steak from its own on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pullcall.events import MarkKind
from pullcall.hindsight.facts import CookFacts, SteakFacts
from pullcall.report.axis import MARGIN, minutes, points, temperature_scale, temperatures, value_at
from pullcall.report.chart import WIDE
from pullcall.report.degrees import Degrees
from pullcall.report.drawing import Point, curve, drawing, line, named, shape, text
from pullcall.report.markup import Markup
from pullcall.report.pens import pen
from pullcall.report.places import counterpart, letter
from pullcall.report.scale import Scale, spread

_TOP, _PLOT, _FOOT = 36.0, 190.0, 34.0
_NAMES = 24.0
#: Shown before on, and after off where no peak was seen, seconds.
_BEFORE_S, _AFTER_S = 20.0, 240.0


def aligned(cooks: Sequence[CookFacts], unit: str, width: float = WIDE) -> Markup:
    """Two to six cooks as one SVG element, a plot for each steak of the first cook: seconds
    count from each steak's own on. Raises ValueError for another unit or number of cooks."""
    degrees = Degrees(unit)
    rows = [_row(cooks, place) for place in range(max(len(c.steaks) for c in cooks))]
    x = Scale(-_BEFORE_S, _longest(rows), MARGIN, width - _NAMES)
    parts, top = list[Markup](), 0.0
    for row in rows:
        y = temperature_scale(_seen(row, x), degrees, top + _TOP, top + _TOP + _PLOT)
        parts += _plot(row, x, y, degrees, top)
        top += _TOP + _PLOT + _FOOT
    names = ", ".join(f"{letter(n)} {cook.cook}" for n, cook in enumerate(cooks))
    return drawing(width, top, f"Core temperatures from each steak's own on: {names}", parts)


_Row = tuple[SteakFacts | None, ...]


def _row(cooks: Sequence[CookFacts], place: int) -> _Row:
    """The steaks at one place, cook by cook; None where it has none that went on."""
    first = next(c for c in cooks if place < len(c.steaks))
    found = [counterpart(first, place, cook) for cook in cooks]
    return tuple(s if s is not None and s.on_t is not None else None for s in found)


def _longest(rows: Sequence[_Row]) -> float:
    ends = [_end_s(s) for row in rows for s in row if s is not None]
    return max(ends, default=600.0)


def _end_s(steak: SteakFacts) -> float:
    """When the drawing of a steak ends, seconds after its on."""
    assert steak.on_t is not None
    ends = [t for t in (steak.peak_t, steak.cross_t) if t is not None]
    if steak.off_t is not None:
        ends.append(steak.off_t + _AFTER_S)
    if not ends and steak.trace:
        ends.append(steak.trace[-1][0])
    return max(ends, default=steak.on_t) + 30.0 - steak.on_t


def _seen(row: _Row, x: Scale) -> list[float]:
    seen = list[float]()
    for steak in row:
        if steak is not None and steak.on_t is not None:
            seen += [c for t, c in steak.trace if x.holds(t - steak.on_t)]
            seen += [c for c in (steak.pull_c,) if c is not None]
    return seen


def _plot(row: _Row, x: Scale, y: Scale, degrees: Degrees, top: float) -> Iterator[Markup]:
    names = list(dict.fromkeys(s.steak for s in row if s is not None))
    yield text((MARGIN, top + 14.0), " / ".join(names) or "no steak went on", font_weight="700")
    yield from temperatures(y, x.start, x.end, degrees)
    yield from minutes(x, y.end, y.start, "minutes since its own on")
    ends = dict[int, Point]()
    for n, steak in enumerate(row):
        if steak is None or steak.on_t is None:
            continue
        places = points(steak.trace, x, y, degrees, steak.on_t)
        if places:
            yield curve(places, pen(n), 1.8)
            ends[n] = places[-1]
        yield from _ticks(steak, n, x, y, degrees)
    apart = spread([at[1] for at in ends.values()], 13.0, y.end + 4.0, y.start)
    for (n, (end_x, _)), label_y in zip(ends.items(), apart, strict=True):
        yield named((end_x + 5.0, label_y + 4.0), letter(n), pen(n))


def _ticks(steak: SteakFacts, n: int, x: Scale, y: Scale, degrees: Degrees) -> Iterator[Markup]:
    """A tick across the curve at each mark; off is a filled triangle."""
    assert steak.on_t is not None
    for mark in steak.marks:
        seen = value_at(steak.trace, mark.t)
        if seen is None or not x.holds(mark.t - steak.on_t):
            continue
        at_x, at_y = x.at(mark.t - steak.on_t), y.at(degrees.number(seen))
        if mark.mark is MarkKind.OFF:
            yield shape(((at_x, at_y), (at_x - 4.0, at_y - 7.0), (at_x + 4.0, at_y - 7.0)), pen(n))
        elif mark.mark is not MarkKind.ON:
            yield line((at_x, at_y - 6.0), (at_x, at_y + 6.0), 1.5)

"""The chart of one cook: cores with marks, calls, lines, crossings and peaks, and what was told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pullcall.hindsight.facts import CookFacts, SteakFacts
from pullcall.report import told
from pullcall.report.axis import MARGIN, minutes, points, temperature_scale, temperatures, value_at
from pullcall.report.degrees import Degrees
from pullcall.report.drawing import (
    Point,
    curve,
    dot,
    drawing,
    line,
    named,
    shape,
    text,
)
from pullcall.report.lanes import HEIGHT, lane
from pullcall.report.markup import Markup
from pullcall.report.pens import Pen, pen
from pullcall.report.scale import Scale, spread

#: Wide enough for paper, and for a phone held upright.
WIDE, NARROW = 720.0, 366.0
_PLOT = 170.0
_TOP, _AXIS = 24.0, 48.0
#: Room for the curves' names at the right.
_NAMES = 46.0
#: Room for what was told beside the curves, where the drawing is wide.
_BESIDE = 262.0
#: Shown before the first on and after the last thing of note, seconds.
_BEFORE_S, _AFTER_S = 20.0, 45.0
#: After off without a peak or a box the curve is shown for so long, seconds.
_REST_S = 420.0


def chart(facts: CookFacts, unit: str, width: float = WIDE) -> Markup:
    """The whole chart as one SVG element; ``width`` is WIDE or NARROW.

    Raises ValueError for a unit that is neither F nor C.
    """
    degrees, zero_t = Degrees(unit), zero(facts)
    x = _time_scale(facts, zero_t, width)
    y = _core_scale(facts, degrees, _TOP + _PLOT)
    lanes_top = y.start + _AXIS
    beside = width >= WIDE
    lanes_low = lanes_top + HEIGHT * len(facts.steaks)
    left, top = (width - _BESIDE, 4.0) if beside else (4.0, lanes_low + 8.0)
    whiskers, whiskers_low = _told(facts, left, width - 8.0, top)
    parts = [
        *temperatures(y, x.start, x.end, degrees),
        *minutes(x, y.end, y.start, "minutes since the first steak went on"),
        text((x.start, y.start + 40.0), "✕ crossed its pull   ▼ off   △ peak   ○ mark"),
        *_levels(facts, x, y, degrees),
        *_cores(facts, x, y, degrees, zero_t),
        *(
            part
            for n in range(len(facts.steaks))
            for part in lane(facts, n, x, lanes_top + n * HEIGHT, zero_t)
        ),
        *whiskers,
    ]
    return drawing(width, max(lanes_low, whiskers_low) + 2.0, _title(facts, degrees), parts)


def zero(facts: CookFacts) -> float:
    """When the first steak went on; the first reading, or the cook's zero, where none did."""
    on = [s.on_t for s in facts.steaks if s.on_t is not None]
    seen = [s.trace[0][0] for s in facts.steaks if s.trace]
    return min(on or seen or [0.0])


def _title(facts: CookFacts, degrees: Degrees) -> str:
    told_of = [f"{s.steak} {_story(s, degrees)}" for s in facts.steaks]
    return f"Core temperatures of {facts.setup.cook}: {'; '.join(told_of)}"


def _story(steak: SteakFacts, degrees: Degrees) -> str:
    off = "not off" if steak.off_c is None else f"off at {degrees.at(steak.off_c)}"
    peak = "peak not seen" if steak.peak_c is None else f"peak {degrees.at(steak.peak_c)}"
    return f"{off}, {peak}"


def _time_scale(facts: CookFacts, zero_t: float, width: float) -> Scale:
    ends = [end for s in facts.steaks if (end := _end(s)) is not None]
    last = max(ends, default=zero_t + 600.0) - zero_t
    right = width - _BESIDE - 12.0 if width >= WIDE else width
    return Scale(-_BEFORE_S, max(last + _AFTER_S, 60.0), MARGIN, right - _NAMES)


def _end(steak: SteakFacts) -> float | None:
    """The last thing of note of a steak, as far as its readings go."""
    noted = [
        t for t in (steak.boxed_t, steak.peak_t, steak.rested_t, steak.cross_t) if t is not None
    ]
    if steak.off_t is not None:
        noted.append(steak.off_t + (0.0 if noted[1:] else _REST_S))
    if not steak.trace:
        return max(noted, default=None)
    return max(noted) if noted else steak.trace[-1][0]


def _core_scale(facts: CookFacts, degrees: Degrees, low: float) -> Scale:
    seen = [c for s in facts.steaks for _, c in (*s.trace, *s.spots)]
    lines = [c for s in facts.steaks for c in (s.pull_c, s.settings.target_c) if c is not None]
    return temperature_scale([*seen, *lines], degrees, _TOP, low)


@dataclass(frozen=True, slots=True)
class _Level:
    celsius: float
    words: str
    dashes: str


def _levels(facts: CookFacts, x: Scale, y: Scale, degrees: Degrees) -> Iterator[Markup]:
    """Pull and target lines, each written once where the steaks share it."""
    found = dict[tuple[str, float], list[str]]()
    for steak in facts.steaks:
        for words, c in (("pull", steak.pull_c), ("target", steak.settings.target_c)):
            if c is not None:
                found.setdefault((words, round(c, 1)), []).append(steak.steak)
    levels = [
        _Level(c, words if len(of) == len(facts.steaks) else f"{words} {', '.join(of)}",
               "8 4" if words == "pull" else "2 4")
        for (words, c), of in found.items()
    ]  # fmt: skip
    levels.sort(key=lambda level: -level.celsius)
    beside = [
        y.at(degrees.number(level.celsius)) + (12.0 if n and n == len(levels) - 1 else -3.0)
        for n, level in enumerate(levels)
    ]
    places = spread(beside, 12.0, y.end + 4.0, y.start - 3.0)
    for level, label_y in zip(levels, places, strict=True):
        at = y.at(degrees.number(level.celsius))
        yield line((x.start, at), (x.end, at), 1.2, stroke_dasharray=level.dashes)
        yield text((x.start + 4.0, label_y), f"{level.words} {degrees.at(level.celsius)}")


def _cores(
    facts: CookFacts, x: Scale, y: Scale, degrees: Degrees, zero_t: float
) -> Iterator[Markup]:
    ends = list[float]()
    for n, steak in enumerate(facts.steaks):
        places = points(steak.trace, x, y, degrees, zero_t)
        if places:
            yield curve(places, pen(n))
        for t, c in steak.spots:
            if x.holds(t - zero_t):
                yield _cross((x.at(t - zero_t), y.at(degrees.number(c))), 3.5)
        yield from _moments(steak, x, y, degrees, zero_t, pen(n))
        ends.append(places[-1][1] if places else y.start)
    apart = spread(ends, 13.0, y.end + 4.0, y.start)
    for n, (steak, label_y) in enumerate(zip(facts.steaks, apart, strict=True)):
        if steak.trace:
            yield named((x.end + 5.0, label_y + 4.0), _fitted(steak.steak), pen(n))


def _fitted(name: str) -> str:
    return name if len(name) <= 8 else f"{name[:7]}…"


def _moments(
    steak: SteakFacts, x: Scale, y: Scale, degrees: Degrees, zero_t: float, at: Pen
) -> Iterator[Markup]:
    """On the curve: the true crossing (a cross), off (filled), the peak (open), other marks."""

    def place(t: float | None, c: float | None) -> Point | None:
        if t is None or c is None or not x.holds(t - zero_t):
            return None
        return x.at(t - zero_t), y.at(degrees.number(c))

    for mark in steak.marks:
        if at_mark := place(mark.t, value_at(steak.trace, mark.t)):
            yield dot(at_mark, 2.6, at, filled=False)
    if crossed := place(steak.cross_t, steak.pull_c):
        yield _cross(crossed, 6.0)
    if off := place(steak.off_t, steak.off_c):
        yield shape(_triangle(off, 5.0), at)
    if peak := place(steak.peak_t, steak.peak_c):
        yield shape(_triangle(peak, -5.0), at, filled=False)


def _cross(at: Point, size: float) -> Markup:
    x, y = at
    return Markup(
        line((x - size, y - size), (x + size, y + size), 1.6)
        + line((x - size, y + size), (x + size, y - size), 1.6)
    )


def _triangle(at: Point, size: float) -> tuple[Point, Point, Point]:
    """Pointing down at the place for a positive size, up at it for a negative."""
    x, y = at
    return (x, y), (x - abs(size), y - 1.6 * size), (x + abs(size), y - 1.6 * size)


def _told(facts: CookFacts, left: float, right: float, top: float) -> tuple[list[Markup], float]:
    """The whiskers of every steak, one below the other, and where they end."""
    parts = list[Markup]()
    for n, steak in enumerate(facts.steaks):
        parts += told.whiskers(steak, n, left, right, top)
        top += told.height(steak)
    return parts, top

"""The forecasts made before a crossing against the truth: a whisker each, truth one line."""

from __future__ import annotations

from collections.abc import Iterator

from pullcall.hindsight.facts import LeadScore, SteakFacts
from pullcall.report.degrees import capital
from pullcall.report.drawing import dot, faint, line, named, text
from pullcall.report.markup import Markup
from pullcall.report.pens import Pen, pen
from pullcall.report.scale import Scale, round_step

_ROW = 15.0
_HEAD, _FOOT = 38.0, 34.0
#: Farther from the crossing than this nothing is drawn, seconds: an arrow says that it goes on.
_FARTHEST_S = 60.0
_NEAREST_S = 10.0


def height(steak: SteakFacts) -> float:
    """How tall the whiskers of a steak are."""
    return _HEAD + _ROW * max(len(steak.leads), 1) + _FOOT


def whiskers(
    steak: SteakFacts, place: int, left: float, right: float, top: float
) -> Iterator[Markup]:
    """The whiskers of the steak at ``place``, seconds around its crossing across."""
    at = pen(place)
    yield named((left, top + 11.0), f"{capital(steak.steak)}: when the pull was told to come", at)
    if not steak.leads:
        yield text((left, top + _HEAD + 9.0), _why_none(steak))
        return
    reach = _reach(steak.leads)
    x = Scale(-reach, reach, left + 78.0, right)
    bottom = top + _HEAD + _ROW * len(steak.leads)
    yield from _seconds(x, top + _HEAD - 6.0, bottom)
    for row, lead in enumerate(steak.leads):
        y = top + _HEAD + _ROW * (row + 0.5)
        yield text((left + 70.0, y + 4.0), f"{lead.lead_s:.0f} s before", "end")
        yield from _whisker(lead, x, y, at)


def _why_none(steak: SteakFacts) -> str:
    if steak.cross_t is None:
        return "It was not seen to reach the pull temperature."
    return "Nothing was told of this pull."


def _reach(leads: tuple[LeadScore, ...]) -> float:
    ends = [
        abs(end - lead.true_in_s)
        for lead in leads
        for end in (lead.pull_in_s.p10, lead.pull_in_s.p90)
    ]
    return min(max(1.1 * max(ends), _NEAREST_S), _FARTHEST_S)


def _seconds(x: Scale, top: float, bottom: float) -> Iterator[Markup]:
    """Seconds below, and the crossing as the one strong line."""
    for value in x.ticks(round_step(x.high - x.low, 8)):
        yield faint((x.at(value), top), (x.at(value), bottom))
        told = f"{value:+g}".replace("-", "−") if value else "0"
        yield text((x.at(value), bottom + 12.0), told, "middle")
    yield line((x.at(0.0), top - 2.0), (x.at(0.0), bottom + 2.0), 2.5)
    yield text((x.at(0.0), top - 4.0), "crossed", "middle", font_weight="700")
    yield text((x.start, bottom + 24.0), "← told sooner, s")
    yield text((x.end, bottom + 24.0), "told later, s →", "end")


def _whisker(lead: LeadScore, x: Scale, y: float, at: Pen) -> Iterator[Markup]:
    """p10 to p90 with its middle; filled where the crossing lay inside."""
    told = lead.pull_in_s
    low, middle, high = (q - lead.true_in_s for q in (told.p10, told.p50, told.p90))
    begin, end = (x.at(min(max(q, x.low), x.high)) for q in (low, high))
    yield line((begin, y), (end, y), 1.6, stroke=at.colour, class_=f"pen {at.name}")
    for edge, place in ((low, begin), (high, end)):
        if x.holds(edge):
            yield line(
                (place, y - 4.0), (place, y + 4.0), 1.6, stroke=at.colour, class_=f"pen {at.name}"
            )
        else:
            yield text((place, y + 4.0), "‹" if edge < x.low else "›", "middle", font_weight="700")
    if x.holds(middle):
        yield dot((x.at(middle), y), 3.6, at, filled=lead.is_covered)

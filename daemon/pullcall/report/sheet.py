"""The report of one cook: one HTML document, one printed page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import tzinfo
from typing import Protocol

from pullcall.events import Note
from pullcall.hindsight.facts import CookFacts
from pullcall.learning.lesson import Lesson
from pullcall.plan.say import percent
from pullcall.report import tables
from pullcall.report.advice import advise
from pullcall.report.advising.advice import Advice
from pullcall.report.chart import NARROW, WIDE, chart
from pullcall.report.degrees import Degrees, capital
from pullcall.report.differences import differences
from pullcall.report.markup import Markup, element
from pullcall.report.measures import first_on_t
from pullcall.report.moments import Moments, moments
from pullcall.report.noted import Noted, noted
from pullcall.report.page import items, page, section

#: So many lines fit on paper.
_PRINTED_ADVICE, _PRINTED_DIFFERENCES, _PRINTED_FIGURES = 5, 6, 3
#: USDA FSIS, safe minimum internal temperature of whole beef steaks: 145 F and 3 min of rest.
SAFE_C = 62.8


class Figure(Protocol):
    """Something that all cooks together say of the forecast."""

    @property
    def label(self) -> str:
        """What it is about."""

    @property
    def words(self) -> str:
        """The sentence."""


def sheet(
    facts: CookFacts,
    earlier: Sequence[CookFacts],
    notes: Sequence[Note],
    unit: str,
    lessons: Sequence[Lesson] = (),
    figures: Sequence[Figure] = (),
    *,
    zone: tzinfo | None = None,
) -> str:
    """The report as HTML. ``earlier`` are the cooks before, the latest last; times of day are in
    ``zone`` (None: this machine's). Raises ValueError for a unit that is neither F nor C."""
    degrees, wrote = Degrees(unit), noted(notes)
    wall = moments(facts.started, zone)
    title = headline(facts, wrote, wall)
    return page(
        title,
        (
            _head(title, facts, wrote, wall),
            element(
                "div",
                _advice(advise(facts, earlier, lessons, unit=unit)),
                _differences(facts, earlier, unit),
                class_="pair",
            ),
            _chart(facts, unit),
            element("div", *_rest(facts, degrees, wall, wrote, figures), class_="rest"),
            _foot(facts, degrees),
        ),
    )


def headline(facts: CookFacts, wrote: Noted, wall: Moments) -> str:
    """Place, date and time, as far as they are known."""
    told = [text for text in (wrote.text("place"), wall.began()) if text]
    return ", ".join(told) or facts.cook


def _head(title: str, facts: CookFacts, wrote: Noted, wall: Moments) -> Markup:
    kind = "simulated cook, no real meat" if facts.setup.simulated else ""
    opened = ""
    if facts.window_t is not None:
        opened = f"turn-in {wall.at(facts.window_t[0])} – {wall.at(facts.window_t[1])}"
    chance = facts.chance_at_on
    sure = "" if chance is None else f"chance told as the first went on: {percent(chance)}"
    told = (wrote.text("contest"), kind, opened, sure, wrote.text("tags"), facts.cook)
    line = " · ".join(text for text in told if text)
    return element("header", element("h1", title), element("p", line))


def _advice(found: Sequence[Advice]) -> Markup:
    if not found:
        return section("Next time", element("p", "Do it again: nothing was off."), class_="next")
    lines = [
        element("span", element("b", a.words), " ", element("span", a.reason, class_="why"))
        for a in found
    ]
    return section("Next time", items(lines, _PRINTED_ADVICE, ordered=True), class_="next")


def _differences(facts: CookFacts, earlier: Sequence[CookFacts], unit: str) -> Markup:
    heading = "Different from last time"
    if all(first_on_t(cook) is None for cook in earlier):
        return section(heading, element("p", "There is no earlier cook to hold it against."))
    found = [difference.words(unit) for difference in differences(facts, earlier)]
    if not found:
        return section(heading, element("p", "Nothing worth telling."))
    return section(heading, items(found, _PRINTED_DIFFERENCES))


def _chart(facts: CookFacts, unit: str) -> Markup:
    """Two drawings of the same, of which style shows the one that can be read."""
    return section(
        "How it went",
        element("figure", _classed(chart(facts, unit, WIDE), "wide")),
        element("figure", _classed(chart(facts, unit, NARROW), "narrow")),
    )


def _classed(drawn: Markup, width: str) -> Markup:
    return Markup(drawn.replace('class="drawing"', f'class="drawing chart {width}"', 1))


def _rest(
    facts: CookFacts, degrees: Degrees, wall: Moments, wrote: Noted, figures: Sequence[Figure]
) -> Iterator[Markup]:
    """Three columns, where there is room."""
    yield element(
        "div",
        *_maybe("The pull told, and what came (s)", tables.forecasts(facts)),
        *_maybe("Alarms", tables.alarms(facts, wall)),
        section("The cook", *_cook(facts, degrees)),
    )
    yield element(
        "div", section("The steaks", tables.steaks(facts, degrees)), *_judged(facts, wrote)
    )
    yield element(
        "div", *_maybe("Plan and day", tables.plan(facts.steps, wall)), *_together(figures)
    )


def _judged(facts: CookFacts, wrote: Noted) -> Iterator[Markup]:
    if written := list(_written(facts, wrote)):
        yield section("Judges and notes", *written)


def _together(figures: Sequence[Figure]) -> Iterator[Markup]:
    if figures:
        lines = [element("span", element("b", f.label), f": {f.words}") for f in figures]
        yield section("All cooks together", items(lines, _PRINTED_FIGURES))


def _maybe(heading: str, part: Markup | None) -> Iterator[Markup]:
    if part is not None:
        yield section(heading, part)


def _cook(facts: CookFacts, degrees: Degrees) -> Iterator[Markup]:
    yield element("p", tables.fire(facts, degrees))
    told = [f"{label} {value}" for label, value in tables.cook_rows(facts, degrees)]
    if told:
        yield element("p", f"{capital('; '.join(told))}.")


def _written(facts: CookFacts, wrote: Noted) -> Iterator[Markup]:
    if scores := wrote.scores():
        yield element("p", "; ".join(f"{category} {score}" for category, score in scores))
    if handed := wrote.text("handed_in"):
        yield element("p", f"Handed in: {handed}.")
    if board := wrote.text("rest_board"):
        yield element("p", f"Rested on: {board}.")
    if text := wrote.text("notes"):
        yield element("p", text, class_="long")
    for steak in facts.steaks:
        told = [
            part for part in (_weight(wrote, steak.steak), wrote.text("notes", steak.steak)) if part
        ]
        told += [note for note in (steak.settings.look,) if note]
        if told:
            yield element(
                "p", element("b", capital(steak.steak)), f": {', '.join(told)}", class_="long"
            )


def _weight(wrote: Noted, steak: str) -> str:
    weight = wrote.text("weight_g", steak)
    return f"{weight} g" if weight else ""


def _foot(facts: CookFacts, degrees: Degrees) -> Markup:
    told = [element("p", _provenance(facts))]
    if any(s.peak_c is not None and s.peak_c < SAFE_C for s in facts.steaks):
        told.append(element("p", caution(degrees)))
    return element("footer", *told)


def _provenance(facts: CookFacts) -> str:
    same = {
        True: "worked out anew it gave the very calls of the day",
        False: "worked out anew it gave other calls than on the day",
        None: "no calls were logged on the day",
    }[facts.as_called]
    return (
        f"From the cook's log; {same}. A band is meant to hold the truth eight times in "
        "ten. What simulated cooks say is not from real meat."
    )


def caution(degrees: Degrees) -> str:
    """The usual caution for a steak below the safe minimum."""
    return (
        f"A peak stayed below {degrees.whole(SAFE_C)}: USDA FSIS names {degrees.whole(SAFE_C)} and "
        "3 minutes of rest for whole beef steaks; the local food code decides."
    )

"""The comparison of cooks as one HTML document."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import tzinfo

from pullcall.events import Note
from pullcall.hindsight.facts import CookFacts
from pullcall.report.aligned import aligned
from pullcall.report.chart import NARROW, WIDE
from pullcall.report.comparison import ComparedRow, Comparison, Value, compare
from pullcall.report.markup import Markup, element
from pullcall.report.moments import moments
from pullcall.report.noted import noted
from pullcall.report.page import items, page, section, table
from pullcall.report.places import letter

_PRINTED_WORDS = 8


def comparison_sheet(
    cooks: Sequence[CookFacts],
    notes: Mapping[str, Iterable[Note]],
    unit: str,
    *,
    zone: tzinfo | None = None,
) -> str:
    """Cooks side by side with the aligned chart; as :func:`compare`, which says what it raises."""
    compared = compare(cooks, notes, unit)
    names = [name(cook, notes, zone) for cook in cooks]
    title = f"{len(cooks)} cooks side by side"
    words = compared.words or ("Nothing worth telling.",)
    return page(
        title,
        (
            element("header", element("h1", title), element("p", " · ".join(_lettered(names)))),
            section("What differed", items(words, _PRINTED_WORDS)),
            section("Each steak from its own on", *_charts(cooks, unit)),
            section("Figures", _scrolling(_table(compared, names), "Figures side by side")),
        ),
    )


def name(cook: CookFacts, notes: Mapping[str, Iterable[Note]], zone: tzinfo | None) -> str:
    """How a cook is called: place, date and time, or its id where neither is known."""
    place = noted(notes.get(cook.cook, ())).text("place")
    told = [text for text in (place, moments(cook.started, zone).began()) if text]
    return ", ".join(told) or cook.cook


def figure(row: ComparedRow, value: Value) -> str:
    """A figure of a row in words."""
    if value is None:
        return "–"
    return value if isinstance(value, str) else f"{value:g}"


def _lettered(names: Sequence[str]) -> list[str]:
    return [f"{letter(n)} {told}" for n, told in enumerate(names)]


def _charts(cooks: Sequence[CookFacts], unit: str) -> list[Markup]:
    return [
        element("figure", aligned(cooks, unit, WIDE), class_="wide"),
        element("figure", aligned(cooks, unit, NARROW), class_="narrow"),
    ]


def _scrolling(part: Markup, told: str) -> Markup:
    """What may be wider than a phone; keys reach it too."""
    return element("div", part, class_="scrolls", role="region", tabindex="0", aria_label=told)


def _table(compared: Comparison, names: Sequence[str]) -> Markup:
    rows = [
        (
            f"{row.label}, {row.unit}" if row.unit else row.label,
            *(figure(row, value) for value in row.values),
        )
        for row in compared.rows
    ]
    return table(("", *_lettered(names)), rows)

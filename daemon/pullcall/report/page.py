"""A whole HTML document that needs nothing from anywhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pullcall.report.markup import Markup, element, joined, words
from pullcall.report.style import STYLE


def page(title: str, parts: Iterable[str]) -> str:
    """The document; it holds no script and asks for no file."""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{words(title)}</title><style>{STYLE}</style></head>"
        f"<body>{joined(parts)}</body></html>\n"
    )


def section(heading: str, *parts: str, class_: str | None = None) -> Markup:
    """A part of the sheet under its heading."""
    return element("section", element("h2", heading), *parts, class_=class_)


def items(told: Sequence[str], printed: int, ordered: bool = False) -> Markup:
    """A list. Paper shows the first ``printed`` and says how many more there are."""
    lines = [element("li", one, class_=_beyond(n, printed)) for n, one in enumerate(told)]
    return element("ol" if ordered else "ul", *lines, *_more("li", len(told), printed))


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], printed: int = 99, class_: str | None = None
) -> Markup:
    """A table whose first column names the row. Paper shows the first ``printed`` rows.
    Cells keep to one line, but for the first; of class ``wrapped`` but for the second."""
    top = element("tr", *(element("th", cell, scope="col") for cell in head))
    lines = [
        element(
            "tr",
            element("th", row[0], scope="row"),
            *(element("td", cell) for cell in row[1:]),
            class_=_beyond(n, printed),
        )
        for n, row in enumerate(rows)
    ]
    more = [
        element("tr", element("td", *text, colspan=len(head)), class_="cut")
        for text in _more_words(len(rows), printed)
    ]
    return element("table", element("thead", top), element("tbody", *lines, *more), class_=class_)


def _beyond(n: int, printed: int) -> str | None:
    return "beyond" if n >= printed else None


def _more(name: str, count: int, printed: int) -> list[Markup]:
    return [element(name, *text, class_="cut") for text in _more_words(count, printed)]


def _more_words(count: int, printed: int) -> list[tuple[str]]:
    return [(f"and {count - printed} more",)] if count > printed else []

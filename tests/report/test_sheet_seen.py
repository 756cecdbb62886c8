"""The sheet in a browser: one printed page, no sideways scroll on a phone, rules of WCAG."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC

import pytest
from playwright.sync_api import Browser, Page

from pullcall.report.comparison_sheet import comparison_sheet
from pullcall.report.sheet import sheet
from tests.axe import require_axe
from tests.report.hand import alarm, cook, earlier_cooks, full_cook, full_notes

Show = Callable[[str], Page]


def full(unit: str = "F") -> str:
    return sheet(full_cook(), earlier_cooks(), full_notes(), unit, zone=UTC)


def side_by_side() -> str:
    cooks = [*earlier_cooks(), full_cook()]
    return comparison_sheet(cooks, {"cook-9": full_notes()}, "F", zone=UTC)


@pytest.fixture
def show(browser: Browser) -> Iterator[Show]:
    page = browser.new_page(viewport={"width": 390, "height": 800})

    def load(html: str) -> Page:
        page.set_content(html)
        return page

    yield load
    page.close()


def pages(pdf: bytes) -> int:
    """How many pages a PDF of Chromium has."""
    return pdf.count(b"/Type /Page\n")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("unit", ["F", "C"])
def test_everything_that_can_go_wrong_fits_on_one_page(show: Show, paper: str, unit: str) -> None:
    assert pages(show(full(unit)).pdf(format=paper)) == 1


def test_a_longer_document_would_be_counted(show: Show) -> None:
    assert pages(show(full().replace("</body>", "<p>more</p>" * 200 + "</body>")).pdf()) > 1


def test_what_is_cut_on_paper_is_there_on_a_screen(show: Show) -> None:
    page = show(full())
    beyond, cut = page.locator(".beyond").first, page.locator(".cut").first
    assert beyond.is_visible()
    assert not cut.is_visible()
    page.emulate_media(media="print")
    assert not beyond.is_visible()
    assert cut.is_visible()


@pytest.mark.parametrize("html", [full(), side_by_side()], ids=["report", "comparison"])
def test_a_phone_scrolls_in_one_direction_only(show: Show, html: str) -> None:
    page = show(html)
    assert page.evaluate("document.documentElement.scrollWidth") == 390


def test_a_word_without_end_does_not_widen_a_phone(show: Show) -> None:
    long = "x" * 300
    facts = replace(cook(long), alarms=(alarm(cause=long),))
    page = show(sheet(facts, (), (), "F"))
    assert page.evaluate("document.documentElement.scrollWidth") == 390


def test_a_phone_shows_the_narrow_drawing_and_a_desk_the_wide(show: Show) -> None:
    page = show(full())
    narrow, wide = page.locator("svg.narrow"), page.locator("svg.wide")
    assert (narrow.is_visible(), wide.is_visible()) == (True, False)
    page.set_viewport_size({"width": 1000, "height": 800})
    assert (narrow.is_visible(), wide.is_visible()) == (False, True)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("html", [full(), side_by_side()], ids=["report", "comparison"])
def test_no_serious_rule_of_wcag_is_broken(show: Show, html: str, scheme: str) -> None:
    page = show(html)
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    page.evaluate(require_axe())
    found = page.evaluate("axe.run()")
    serious = [v for v in found["violations"] if v["impact"] in ("serious", "critical")]
    assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in serious] == []
    assert len(found["passes"]) > 10

"""How the logbook looks: no sideways scroll, large keys, contrast, what axe-core judges."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.axe import require_axe
from tests.page.open_logbook import go, heading, open_logbook
from tests.page.patience import becomes
from tests.page.visit import PHONE, Open, Visit

pytestmark = pytest.mark.integration
SIZES = [PHONE, (320, 568), (844, 390), (1280, 900)]
VIEWS = {
    "": "Logbook",
    "#cook=c2": "One cook",
    "#compare=c1,c2": "Side by side",
    "#learned": "Learned",
    "#moving": "Moving in and out",
}
#: Keys and entries, a check box with the label that is tapped, and what is smaller than 56 px.
SMALL = """[...document.querySelectorAll(
  'a.key, button, summary, select, textarea, input:not([type=checkbox], [type=radio]), '
  + 'label:has([type=checkbox], [type=radio]), table a')]
  .filter((one) => one.checkVisibility())
  .map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
  .filter(([, box]) => box.height < 56 || box.width < 56 || box.right > innerWidth + 1)
  .map(([html]) => html)"""
TOO_WIDE = "document.documentElement.scrollWidth > innerWidth"
#: Tags of the rules, and the one rule of AAA that this page keeps. Source: axe-core's API.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN = """(tags) => axe.run(document, { runOnly: tags,
  rules: { "color-contrast-enhanced": { enabled: true } } }).then(({ violations }) =>
  violations.map(({ id, impact, nodes }) => ({ id, impact, nodes: nodes.map((n) => n.html) })))"""
#: 5.7:1 by WCAG 2.2's definition of contrast: enough for AA and not for AAA.
PALE = (
    "Object.assign(document.querySelector('.meaning').style, {color: '#666', background: '#fff'})"
)
GRAVE = {"serious", "critical"}


def _everything_open(seen: Visit, hash: str) -> None:
    """The view, with what folds opened and what appears made to appear."""
    page = seen.page
    go(seen, hash)
    expect(heading(seen)).to_have_text(VIEWS[hash])
    if hash == "":
        page.get_by_role("checkbox").nth(1).check()
        page.get_by_role("checkbox").nth(2).check()
    elif hash.startswith("#cook"):
        page.get_by_role("button", name="another category").click()
        page.get_by_label("Place").fill("elsewhere")
        seen.site.logbook.refusal = "This note is too long: shorten it."
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.locator(".notesform .refused")).to_be_visible()
    elif hash.startswith("#compare"):
        expect(page.locator("tbody tr")).to_have_count(5)
    elif hash == "#learned":
        page.locator("summary").first.click()
        page.get_by_role("button", name="Own").first.click()
    else:
        table = {"name": "t.csv", "mimeType": "text/csv", "buffer": b"Time,Probe\n0,41\n"}
        page.get_by_label("The file").set_input_files(table)  # type: ignore[arg-type]
        page.get_by_role("button", name="Import").click()
        expect(
            page.get_by_role("region", name="Import a cook").get_by_role("alert")
        ).to_be_visible()


@pytest.mark.parametrize("size", SIZES)
def test_every_view_fits_its_width_and_every_key_takes_a_finger(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = open_logbook(visit, size=size, cooking=True, at=80)
    expect(seen.page.locator("#strip")).to_be_visible()
    for hash in VIEWS:
        _everything_open(seen, hash)
        becomes(seen.page, lambda: seen.page.evaluate(SMALL), [])
        becomes(seen.page, lambda: seen.page.evaluate(TOO_WIDE), False)


def _judged(page: Page) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate(RUN, RULES)
    return [one for one in found if one["impact"] in GRAVE]


@pytest.mark.parametrize("theme", ["day", "night"])
def test_no_view_fails_the_accessibility_rules_gravely(visit: Open, theme: str) -> None:
    def before(page: Page) -> None:
        page.add_init_script(f"localStorage.setItem('pullcall.theme', '{theme}')")
        page.add_init_script(require_axe())

    seen = open_logbook(visit, cooking=True, at=470, before=before)
    expect(seen.page.locator("html")).to_have_attribute("data-theme", theme)
    for hash in VIEWS:
        _everything_open(seen, hash)
        becomes(seen.page, lambda: _judged(seen.page), [])
    seen.page.evaluate(PALE)
    assert [one["id"] for one in _judged(seen.page)] == ["color-contrast-enhanced"]


def test_the_keyboard_alone_finds_opens_and_chooses_cooks(visit: Open) -> None:
    seen = open_logbook(visit)
    page = seen.page
    expect(page.locator(".entry")).to_have_count(4)
    for _ in range(4):  # Learned, Moving, Find, the first cook
        page.keyboard.press("Tab")
    expect(page.locator(".entry a").first).to_be_focused()
    for _ in range(2):  # the next cook, and its box: the first one runs and has none
        page.keyboard.press("Tab")
    page.keyboard.press("Space")
    expect(page.get_by_role("checkbox").first).to_be_checked()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(heading(seen)).to_have_text("One cook")
    page.go_back()
    expect(page.locator(".entry a").nth(2)).to_be_focused()

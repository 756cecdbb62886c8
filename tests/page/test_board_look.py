"""How the page of a board looks: whole words, large rows, contrast, what axe-core judges."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.axe import require_axe
from tests.page.fake_board import CUT, Board, Mirrored, every_kind, many
from tests.page.open_board import LookAt
from tests.page.patience import becomes, pass_time

pytestmark = pytest.mark.integration

SIZES = [(390, 844), (320, 568), (844, 390), (1024, 768), (1920, 1080)]
#: Texts that reach out of their row or of the screen, rows and keys that are too low for a finger.
CUT_OFF = """[
  ...[...document.querySelectorAll(".sitelink span, #top h1, #top p")]
    .filter((one) => one.checkVisibility() && one.textContent && !one.matches(".unseen"))
    .filter((one) => {
      const box = one.getBoundingClientRect();
      const row = (one.closest(".site") ?? document.body).getBoundingClientRect();
      return box.right > row.right + 1 || box.left < row.left - 1 || box.bottom > row.bottom + 1;
    }),
  ...[...document.querySelectorAll(".sitelink, button")]
    .filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < 72),
].map((one) => one.outerHTML.slice(0, 100))"""
#: Rows beyond the screen are laid out as well.
ALL = "document.querySelectorAll('.site').forEach((e) => { e.style.contentVisibility = 'visible' })"
TOO_WIDE = "document.documentElement.scrollWidth > innerWidth"
#: How large the letters of a name are.
NAME_PX = "parseFloat(getComputedStyle(document.querySelector('.sitename')).fontSize)"
#: Tags of the rules, and the one rule of AAA that this page keeps. Source: axe-core's API.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN = """(tags) => axe.run(document, { runOnly: tags,
  rules: { "color-contrast-enhanced": { enabled: true } } }).then(({ violations }) =>
  violations.map(({ id, impact, nodes }) => ({ id, impact, nodes: nodes.map((n) => n.html) })))"""
GRAVE = {"serious", "critical"}


def test_no_word_is_cut_and_every_row_takes_a_finger_on_any_screen(look: LookAt) -> None:
    board = Board()
    board.rows = every_kind(board.t)
    seen = look(board)
    for size in SIZES:
        seen.page.set_viewport_size({"width": size[0], "height": size[1]})
        for count in (12, 2, 1):
            board.rows = every_kind(board.t)[:count]
            board.cut(CUT)  # the whole board, with the longest of its notices
            expect(seen.page.locator(".site")).to_have_count(count)
            expect(seen.page.locator("#notice")).to_be_visible()
            seen.page.evaluate(ALL)
            pass_time(seen.page)
            becomes(seen.page, lambda: seen.page.evaluate(CUT_OFF), [])
            becomes(seen.page, lambda: seen.page.evaluate(TOO_WIDE), False)
    # One site on a wall. Common practice, no source: letters of 1/100 of the distance are read
    # at ease; 3 m and half a millimetre to a pixel (a screen of a metre) make 60 of them.
    assert seen.page.evaluate(NAME_PX) >= 60


def _judged(page: Page) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate(RUN, RULES)
    return [one for one in found if one["impact"] in GRAVE]


@pytest.mark.parametrize("theme", ["day", "night"])
def test_no_state_of_a_board_fails_the_accessibility_rules_gravely(
    look: LookAt, theme: str
) -> None:
    def before(page: Page) -> None:
        page.add_init_script(f"localStorage.setItem('pullcall.theme', '{theme}')")
        page.add_init_script(require_axe())
        page.emulate_media(reduced_motion="reduce")

    board = Board(mirrored=Mirrored(300.0), guarded=True)
    board.rows = many(14, board.t)
    seen = look(board, before=before)
    page = seen.page
    expect(page.locator("html")).to_have_attribute("data-theme", theme)
    expect(page.locator("#door")).to_be_visible()
    assert _judged(page) == [], "the door"
    board.guarded = False
    page.reload()
    expect(page.locator(".site")).to_have_count(14)
    assert page.evaluate("document.getAnimations().length") == 0
    assert _judged(page) == [], "every kind of row"
    page.get_by_label("Find a site").fill("nowhere")
    expect(page.get_by_text("No site is called that.")).to_be_visible()
    assert _judged(page) == [], "none found"
    page.get_by_label("Find a site").fill("")
    board.cut(CUT)
    page.evaluate("scrollTo(0, 900)")
    expect(page.get_by_role("alert")).to_have_class("urgent")
    assert _judged(page) == [], "no broker, and what is urgent out of sight"
    board.rows = []
    board.cut(CUT)
    expect(page.get_by_text("No site yet.")).to_be_visible()
    assert _judged(page) == [], "no site"
    board.mirrored.hush(30) if board.mirrored else None
    page.goto(f"{seen.address}sites/north/")
    expect(page.locator("#notice")).to_contain_text("Not heard from the site")
    assert [one for one in _judged(page) if one["id"] != "color-contrast-enhanced"] == []


def test_the_keyboard_alone_reaches_every_row_and_key(look: LookAt) -> None:
    board = Board(mirrored=Mirrored(300.0))
    board.rows = every_kind(board.t)
    seen = look(board)
    expect(seen.page.locator(".site")).to_have_count(12)
    seen.page.keyboard.press("Tab")
    expect(seen.page.get_by_label("Find a site")).to_be_focused()
    for i in range(12):
        seen.page.keyboard.press("Tab")
        expect(seen.page.locator(".sitelink").nth(i)).to_be_focused()
    seen.page.keyboard.press("Tab")
    expect(seen.page.get_by_role("button", name="Unit")).to_be_focused()
    seen.row("North grill").focus()
    seen.page.keyboard.press("Enter")
    expect(seen.page.get_by_role("link", name="All sites")).to_be_visible()

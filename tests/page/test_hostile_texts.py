"""A rival's texts in everything a page shows: they are read, and nothing else happens."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from tests.page.fake_access import Access
from tests.page.fake_board import Board, every_kind
from tests.page.hostile import EVIL, Rival
from tests.page.open_board import LookAt
from tests.page.open_logbook import go, heading, open_logbook
from tests.page.patience import holds
from tests.page.scripted import FIRE, PLAN_NOW, UNREADY
from tests.page.test_logbook_look import VIEWS
from tests.page.visit import Open, Visit

pytestmark = pytest.mark.integration

#: A key that was tapped rests so long.
RESTS_MS = 400
#: Every sheet, by the keys that lead to it.
SHEETS = [
    ("Menu",),
    ("Menu", "Plan"),
    ("Menu", "Window"),
    ("Menu", "Fire"),
    ("Menu", "Probes"),
    ("Menu", "Left.*: settings"),
    ("Menu", "Phones"),
    ("Left.*: enter a spot",),
    ("Left.*: more marks",),
    ("Left.*: more marks", "Curve"),
    ("Left.*: more marks", "Look"),
    ("Last marks",),
]


@pytest.fixture
def rival() -> Iterator[Rival]:
    rival = Rival()
    yield rival
    assert rival.poisoned > 1, "nothing was written into"


def _press(page: Page, pattern: str) -> None:
    sheet = page.locator(".sheet")
    (sheet if sheet.count() else page).get_by_role("button", name=re.compile(pattern)).first.click()


def _fill(seen: Visit) -> None:
    """Everything that the lanes can show at once."""
    site = seen.site
    site.change_cook({"window": "14:00-14:30"})
    site.show("plan", PLAN_NOW)
    site.show("fire", FIRE)
    site.show_readiness(*UNREADY)
    site.call("fire_low", [], "Fire falling, below the floor", priority=3)
    site.call("pull_now", ["left"], "Left: pull now")
    t = site.t
    site.propose({"id": "p", "t": t, "steak": "right", "mark": "turn", "happened": t - 20,
                  "confirm_t": t + 60, "why": "the reading fell"})  # fmt: skip


def test_a_rivals_texts_do_nothing_on_the_page_nor_on_any_sheet(visit: Open, rival: Rival) -> None:
    access = Access(guarded=True)
    cookie = access.pair("cook", "Phone")
    access.pair("watcher", "Tablet", access.invite("watcher", label="family"))
    seen = visit(at=470, before=rival.poison, access=access, cookie=cookie, lanes=False)
    page = seen.page
    expect(page.get_by_role("region").first).to_contain_text("x-evil")
    _fill(seen)
    expect(page.get_by_role("alert").first).to_contain_text("x-evil")
    for keys in SHEETS:
        page.wait_for_timeout(RESTS_MS)
        for key in keys:
            _press(page, key)
            expect(page.locator(".sheet")).to_be_visible()
        assert rival.gain(page) == [], keys
        page.keyboard.press("Escape")
    assert seen.hosts == {f"127.0.0.1:{seen.port}"}


def test_a_rivals_texts_do_nothing_in_the_logbook(visit: Open, rival: Rival) -> None:
    seen = open_logbook(visit, before=rival.poison)
    for view in VIEWS:
        go(seen, view)
        expect(heading(seen)).to_have_text(VIEWS[view])
        seen.page.wait_for_load_state("networkidle")
        for summary in seen.page.locator("summary").all():
            summary.click()
        assert rival.gain(seen.page) == [], view
    go(seen, "#cook=c2")
    expect(seen.page.locator("main")).to_contain_text("x-evil")
    assert seen.hosts == {f"127.0.0.1:{seen.port}"}


def test_a_rivals_texts_do_nothing_on_a_board(look: LookAt, rival: Rival) -> None:
    board = Board()
    board.rows = every_kind(board.t)
    seen = look(board, before=rival.poison)
    expect(seen.page.locator(".sitename").first).to_contain_text("x-evil")
    assert rival.gain(seen.page) == []


def test_markup_that_became_elements_would_be_noticed(visit: Open) -> None:
    """What the others rest on: the policy stops the script, and all of it is told."""
    rival = Rival()
    seen = visit(at=80, before=rival.poison, lanes=False)
    seen.page.evaluate("(evil) => { document.body.insertAdjacentHTML('beforeend', evil); }", EVIL)

    def all_is_told() -> None:
        gain = " ".join(rival.gain(seen.page))
        for trace in ("policy: script-src", "<x-evil>", "/evil"):
            assert trace in gain

    holds(seen.page, all_is_told)

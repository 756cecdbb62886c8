"""Marks of two phones on one cook, and taps that get no answer."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, Route, expect

from tests.page.patience import becomes, holds
from tests.page.visit import Open, Visit, marked

pytestmark = pytest.mark.integration

SMALL = (320, 568)


#: Taps keys as soon as they rest, which they do for three seconds only, and keeps whose they were.
TAP_WHAT_RESTS = """() => {
  window.rested = new Set();
  const tap = (key) => {
    const name = key.closest(".lane")?.ariaLabel ?? "both";
    if (window.rested.has(name)) return;
    window.rested.add(name);
    key.dispatchEvent(new MouseEvent("click", { bubbles: true }));
  };
  const keys = "button.go:disabled, #foot .both:disabled";
  new MutationObserver(() => document.querySelectorAll(keys).forEach(tap))
    .observe(document.body, { subtree: true, attributeFilter: ["disabled"] });
}"""


def _without_websocket(page: Page) -> None:
    page.route_web_socket(re.compile("/stream"), lambda socket: socket.close())


def _taken(seen: Visit, steak: str = "left") -> list[str]:
    return [one["mark"] for one in seen.site.marks if one["steak"] in (None, steak)]


def test_a_mark_of_another_phone_is_said_and_lets_the_changed_keys_rest(visit: Open) -> None:
    seen = visit(at=110)
    go = seen.lane("Left").locator("button.go")
    expect(go).to_have_text("Turn")
    seen.page.evaluate(TAP_WHAT_RESTS)
    seen.site.take("turn", "left")
    expect(seen.slot()).to_contain_text("Left: turn marked on another phone")
    expect(go).to_have_text("Flip")
    becomes(seen.page, lambda: set(seen.page.evaluate("[...window.rested]")), {"Left", "both"})
    assert _taken(seen) == ["on", "turn"]
    seen.page.get_by_role("button", name="Undo", exact=True).click()
    expect(seen.slot()).to_contain_text("Taken back: Left: turn")
    expect(go).to_be_enabled()
    assert _taken(seen) == ["on"]


def test_ones_own_mark_is_not_blamed_on_another_phone(visit: Open) -> None:
    seen = visit(at=110)
    go = seen.lane("Left").locator("button.go")
    go.click()
    expect(seen.slot()).to_contain_text(marked("Left: turn"))
    expect(go).to_have_text("Flip")
    expect(go).to_be_enabled()
    expect(seen.slot()).not_to_contain_text("another phone")


def test_another_phones_mark_never_takes_the_place_of_ones_own_undo(visit: Open) -> None:
    seen = visit(at=110)
    seen.lane("Left").locator("button.go").click()
    expect(seen.slot()).to_contain_text(marked("Left: turn"))
    seen.site.take("turn", "right")
    expect(seen.lane("Right").locator("button.go")).to_have_text("Flip")
    expect(seen.slot()).to_contain_text(marked("Left: turn"))
    expect(seen.slot()).to_contain_text("Right: turn marked on another phone")


def test_a_polling_phone_hears_of_another_phones_mark(visit: Open) -> None:
    seen = visit(at=110, before=_without_websocket)
    expect(seen.lane("Left").locator("button.go")).to_have_text("Turn")
    seen.site.take("turn", "left")
    expect(seen.slot()).to_contain_text("Left: turn marked on another phone")


def test_a_proposal_that_was_taken_as_done_is_no_other_phones(visit: Open) -> None:
    seen = visit(at=110)
    t = seen.site.t
    seen.site.propose(
        {"id": "p1", "t": t, "steak": "left", "mark": "turn", "happened": t - 12,
         "confirm_t": t, "why": "the core fell"}
    )  # fmt: skip
    expect(seen.lane("Left").locator(".asked")).to_contain_text(re.compile(r"Turn 1\d s ago\?"))
    seen.site.take("turn", "left", 12)
    expect(seen.slot()).to_contain_text("Left: turn marked by itself")


def _abort(route: Route) -> None:
    route.abort()


def test_a_mark_without_an_answer_is_said_and_sent_again_as_of_its_tap(visit: Open) -> None:
    seen = visit(SMALL, at=110)
    seen.page.route("**/api/v1/marks", _abort)
    tapped = seen.site.t
    seen.lane("Left").locator("button.go").click()
    expect(seen.slot()).to_contain_text("Left: turn NOT marked: no answer")

    def it_is_whole() -> None:
        for part in ("#slot", "#slot .act"):
            node = seen.page.locator(part)
            assert node.evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1, part

    holds(seen.page, it_is_whole)
    seen.page.wait_for_timeout(2500)
    seen.page.unroute("**/api/v1/marks")
    assert _taken(seen) == ["on"]  # never by itself
    again = seen.site.t
    seen.page.get_by_role("button", name="Again").click()
    expect(seen.slot()).to_contain_text(re.compile(r"Left: turn, \d+ s ago"))
    assert _taken(seen) == ["on", "turn"]
    assert tapped - 1.5 < seen.site.marks[-1]["at"] < again


def test_a_mark_without_an_answer_can_be_dropped(visit: Open) -> None:
    seen = visit(at=110)
    seen.page.route("**/api/v1/marks", _abort)
    seen.lane("Left").locator("button.go").click()
    seen.page.get_by_role("button", name="Leave it unmarked").click()
    expect(seen.slot()).not_to_contain_text("NOT marked")
    assert _taken(seen) == ["on"]


def test_a_mark_whose_answer_alone_was_lost_is_found_again(visit: Open) -> None:
    seen = visit(at=110)
    seen.page.route("**/api/v1/marks", _abort)
    tapped = seen.site.t
    seen.lane("Left").locator("button.go").click()
    expect(seen.slot()).to_contain_text("NOT marked")
    seen.site.take("turn", "left", seen.site.t - tapped)
    expect(seen.slot()).to_contain_text(re.compile("Left: turn(,| marked)"))
    expect(seen.slot()).not_to_contain_text("another phone")
    expect(seen.page.get_by_role("button", name="Again")).to_have_count(0)

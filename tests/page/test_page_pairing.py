"""How a phone is let in and shut out: codes, links, tickets, revoking, and inviting others."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.page.fake_access import REFUSED, Access
from tests.page.patience import holds, pass_time
from tests.page.visit import PHONE, Open, Visit

pytestmark = pytest.mark.integration

SIZES = [PHONE, (320, 568), (844, 390), (568, 320)]
KEPT = "JSON.stringify([{ ...localStorage }, { ...sessionStorage }, document.cookie])"


def _guarded() -> Access:
    return Access(guarded=True)


def _door(seen: Visit) -> Any:
    return seen.page.locator("#door")


def _type(seen: Visit, code: str) -> None:
    for digit in code:
        _door(seen).get_by_role("button", name=digit, exact=True).click()


def _paired(access: Access) -> list[tuple[str, str]]:
    return [(one["role"], one["name"]) for one in access.pairings.values()]


def _cook(visit: Open, access: Access, **script: Any) -> Visit:
    return visit(access=access, cookie=access.pair("cook", "Android phone"), **script)


def test_a_phone_that_is_not_paired_sees_only_how_to_pair(visit: Open) -> None:
    seen = visit(at=300, access=_guarded())
    expect(_door(seen).get_by_role("heading")).to_have_text("This phone is not paired")
    expect(_door(seen)).to_contain_text("Menu, Phones")
    expect(_door(seen)).to_contain_text("pullcall pair")
    pass_time(seen.page, 1200)
    for part in ("#slot", "main", "#foot", "#notice"):
        expect(seen.page.locator(part)).to_be_hidden()
    assert seen.site.phones == []
    assert seen.complaints == []


def test_a_typed_code_is_shown_in_two_groups_and_pairs_the_phone(visit: Open) -> None:
    access = _guarded()
    access.invite("hand", code="12345678")
    seen = visit(at=80, access=access)
    shown = seen.page.get_by_label("The 8-digit code")
    pair = _door(seen).get_by_role("button", name="Pair", exact=True)
    _type(seen, "1234")
    expect(shown).to_have_value("1234")
    _type(seen, "560")
    _door(seen).get_by_role("button", name="Take back a digit").click()
    _type(seen, "7")
    expect(shown).to_have_value("1234 567")
    expect(pair).to_be_disabled()
    _type(seen, "89")
    expect(shown).to_have_value("1234 5678")
    pair.click()
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    expect(_door(seen)).to_be_hidden()
    expect(seen.slot()).to_contain_text("Paired: this is a hand's phone now")
    assert _paired(access) == [("hand", "Computer")]


def test_a_code_is_pasted_in_whatever_form_it_came(visit: Open) -> None:
    access = _guarded()
    access.invite("hand", code="12345678")
    seen = visit(at=80, access=access)
    shown = seen.page.get_by_label("The 8-digit code")
    shown.fill("Code: 1234-56789")
    expect(shown).to_have_value("1234 5678")
    shown.press("Enter")
    expect(seen.lane("Left")).to_be_visible()


def test_a_wrong_code_is_answered_with_what_to_do(visit: Open) -> None:
    access = _guarded()
    seen = visit(at=80, access=access)
    _type(seen, "00000000")
    _door(seen).get_by_role("button", name="Pair", exact=True).click()
    # Its `commands` are set in a face of their own.
    expect(_door(seen).get_by_role("alert")).to_have_text(REFUSED.replace("`", ""))
    expect(seen.page.get_by_label("The 8-digit code")).to_have_value("")
    assert access.pairings == {}
    _type(seen, "1")
    expect(_door(seen).get_by_role("alert")).to_be_hidden()


@pytest.mark.parametrize("size", SIZES)
def test_every_key_of_the_code_is_whole_and_takes_a_knuckle(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, at=80, access=_guarded())
    seen.page.get_by_label("The 8-digit code").fill("00000000")
    _door(seen).get_by_role("button", name="Pair", exact=True).click()
    expect(_door(seen).get_by_role("alert")).to_be_visible()

    def all_are_whole() -> None:
        assert _door(seen).evaluate("(e) => e.scrollHeight - e.clientHeight") <= 0
        keys = _door(seen).get_by_role("button").all()
        assert len(keys) == 12
        for box in [
            *(key.bounding_box() for key in keys),
            _door(seen).locator("input").bounding_box(),
        ]:
            assert box
            assert box["x"] >= 0 and box["x"] + box["width"] <= size[0]
            assert box["y"] >= 0 and box["y"] + box["height"] <= size[1]
            assert box["width"] >= 72 and box["height"] >= 56
        assert all((key.bounding_box() or {})["height"] >= 72 for key in keys)

    holds(seen.page, all_are_whole)


def test_a_link_pairs_without_a_tap_and_its_secret_is_kept_nowhere(visit: Open) -> None:
    access = _guarded()
    secret = access.invite("cook")["secret"]
    seen = visit(at=80, access=access, path=f"/#k={secret}")
    expect(seen.slot()).to_contain_text("Paired: this is a cook's phone now")
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    assert _paired(access) == [("cook", "Computer")]
    assert seen.page.url == f"http://127.0.0.1:{seen.port}/"
    seen.until(f"{KEPT}.includes('pullcall.last')")
    pass_time(seen.page, 2500)  # the last that is known is kept every two seconds
    assert secret not in seen.page.evaluate(KEPT)
    assert secret not in seen.page.content()
    seen.page.go_back()
    assert secret not in seen.page.url


def test_a_link_opened_in_a_tab_that_watches_already_takes_effect(visit: Open) -> None:
    access = _guarded()
    seen = visit(at=80, access=access, cookie=access.pair("watcher", "Phone"))
    expect(seen.page.locator("#foot .watching")).to_contain_text("Watching")
    secret = access.invite("hand")["secret"]
    seen.page.evaluate("(k) => { location.hash = `#k=${k}`; }", secret)
    expect(seen.lane("Left").locator("button.go")).to_be_enabled()
    assert secret not in seen.page.url
    assert [role for role, _ in _paired(access)] == ["watcher", "hand"]


def test_a_link_that_is_over_says_so_and_leaves_the_keys(visit: Open) -> None:
    seen = visit(at=80, access=_guarded(), path="/#k=gone")
    expect(_door(seen).get_by_role("alert")).to_contain_text("This code is wrong or has run out")
    expect(_door(seen).get_by_role("button", name="Pair", exact=True)).to_be_disabled()
    assert "gone" not in seen.page.url


def test_a_link_that_is_over_changes_nothing_for_a_paired_phone(visit: Open) -> None:
    access = _guarded()
    cookie = access.pair("hand", "Phone")
    seen = visit(at=80, access=access, cookie=cookie, path="/#k=gone")
    expect(seen.lane("Left").locator("button.go")).to_be_enabled()
    expect(seen.slot()).to_contain_text("This code is wrong or has run out")


def test_a_link_opened_on_a_weak_network_pairs_once_the_site_answers(visit: Open) -> None:
    access = _guarded()
    secret = access.invite("hand")["secret"]
    lost: list[str] = []

    def drop_two(page: Page) -> None:
        def handle(route: Any) -> None:
            if len(lost) < 2:
                lost.append(route.request.url)
                route.abort()
            else:
                route.continue_()

        page.route("**/api/v1/pairings", handle)

    seen = visit(at=80, access=access, path=f"/#k={secret}", before=drop_two)
    expect(seen.lane("Left").locator("button.go")).to_be_enabled()
    assert len(lost) == 2
    assert secret not in seen.page.url


def test_a_phone_tells_its_kind_for_nobody_to_type(visit: Open) -> None:
    seen = visit(at=80)
    agents = [
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15", 5),
        ("Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15", 5),
        ("Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15", 0),
        ("Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 Chrome/130 Mobile Safari/537", 5),
        ("Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 Chrome/130 Safari/537.36", 5),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:130.0) Gecko/20100101 Firefox/130.0", 0),
    ]
    said = seen.page.evaluate(
        """async (agents) => {
          const { kindOfPhone } = await import("/page/visitor.js");
          const kind = ([userAgent, maxTouchPoints]) => kindOfPhone({ userAgent, maxTouchPoints });
          return agents.map(kind);
        }""",
        agents,
    )
    assert said == ["iPhone", "Tablet", "Computer", "Android phone", "Tablet", "Computer"]


def test_a_websocket_is_opened_with_a_ticket_that_is_in_no_address(visit: Open) -> None:
    access = _guarded()
    opened: list[str] = []

    def watch(page: Page) -> None:
        page.on("websocket", lambda socket: opened.append(socket.url))

    seen = visit(at=80, access=access, cookie=access.pair("hand", "Phone"), before=watch)
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    (address,) = opened
    assert "ticket" not in address
    assert access.tickets == {}  # it was used up
    assert set(seen.site.readers.values()) == set(access.pairings)


def test_this_machine_itself_asks_for_no_ticket(visit: Open) -> None:
    asked: list[str] = []

    def watch(page: Page) -> None:
        page.on("request", lambda request: asked.append(request.url))

    seen = visit(at=80, before=watch)
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    assert len(seen.site.readers) == 1
    assert not any("tickets" in url for url in asked)


def _without_websocket(page: Page) -> None:
    page.route_web_socket(re.compile("/stream"), lambda socket: socket.close())


@pytest.mark.parametrize("before", [None, _without_websocket], ids=["websocket", "polling"])
def test_a_revoked_phone_forgets_the_cook_and_says_why(
    visit: Open, before: Callable[[Page], None] | None
) -> None:
    access = _guarded()
    seen = _cook(visit, access, at=300, before=before)
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    seen.site.revoke(next(iter(access.pairings.values()))["id"])
    expect(_door(seen).get_by_role("alert")).to_have_text(
        "This phone's link was revoked or has expired: ask the cook for a new link."
    )
    expect(seen.page.locator("main")).to_be_hidden()
    assert seen.page.evaluate("document.querySelectorAll('.lane').length") == 0
    assert "pullcall.last" not in seen.page.evaluate(KEPT)
    # It is let in again by a code, without a reload.
    access.invite("hand", code="12345678")
    seen.page.get_by_label("The 8-digit code").fill("12345678")
    _door(seen).get_by_role("button", name="Pair", exact=True).click()
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")


def test_a_phone_revoked_while_it_was_shut_says_so_and_shows_nothing_it_kept(visit: Open) -> None:
    access = _guarded()
    seen = _cook(visit, access, at=300)
    seen.until("sessionStorage.getItem('pullcall.last') !== null")
    access.pairings.clear()
    seen.page.reload()
    expect(_door(seen).get_by_role("alert")).to_have_text(
        "This phone's link was revoked or has expired: ask the cook for a new link."
    )
    expect(seen.page.locator("main")).to_be_hidden()
    assert "pullcall.last" not in seen.page.evaluate(KEPT)


@pytest.mark.parametrize("role", ["cook", "hand"])
def test_of_revoked_phones_a_cooks_says_it_once_aloud_and_then_all_are_silent(
    visit: Open, role: str
) -> None:
    access = _guarded()
    seen = visit(at=440, access=access, cookie=access.pair(role, "Phone"))
    seen.arm()
    seen.until("window.heardCalls.some((c) => c.call === 'test')")
    entry = {"steaks": ["left"], "call": "pull_soon", "due_t": seen.site.t + 3, "priority": 1,
             "text": "Left: pull in about 40"}  # fmt: skip
    seen.site.call("probe_lost", ["left"], "Left: no probe reading", priority=1)
    seen.site.plan_calls(entry)
    seen.until("window.heardCalls.some((c) => c.call === 'probe_lost')")
    seen.page.evaluate("window.heardCalls.length = 0")
    seen.site.revoke(next(iter(access.pairings.values()))["id"])
    expect(_door(seen)).to_be_visible()
    pass_time(seen.page, 7000)  # an unanswered alarm would sound again, the due call too
    told = [(one["call"], one["audible"]) for one in seen.heard() if one["call"] != "probe_lost"]
    assert told == ([("unpaired", True)] if role == "cook" else [])
    count = len(seen.heard())
    pass_time(seen.page, 5500)
    assert len(seen.heard()) == count


def _press(seen: Visit, *names: str) -> None:
    for name in names:
        sheet = seen.page.locator(".sheet")
        (sheet if sheet.count() else seen.page).get_by_role("button", name=name).first.click()
        seen.page.wait_for_timeout(550)  # a second tap at once would not count


def test_a_phone_forgets_itself_with_two_taps_and_without_an_alarm(visit: Open) -> None:
    access = _guarded()
    seen = visit(at=80, access=access, cookie=access.pair("hand", "Phone"))
    seen.arm()
    _press(seen, "Menu", "Forget this phone")
    assert len(access.pairings) == 1
    _press(seen, "Tap again")
    expect(_door(seen)).to_contain_text("This phone is forgotten")
    assert access.pairings == {}
    assert not [one for one in seen.heard() if one["call"] == "unpaired"]

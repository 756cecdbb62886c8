"""A cook's list of phones, and inviting others: the QR, the code and the link."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.page.fake_access import Access
from tests.page.visit import Open, Visit

pytestmark = pytest.mark.integration


def _cook(visit: Open, access: Access, script: str = "") -> Visit:
    """A cook's phone; ``script`` runs before the page's own."""
    cookie = access.pair("cook", "Android phone")
    return visit(
        at=80, access=access, cookie=cookie, before=lambda page: page.add_init_script(script)
    )


def _press(seen: Visit, *names: str) -> None:
    for name in names:
        sheet = seen.page.locator(".sheet")
        (sheet if sheet.count() else seen.page).get_by_role("button", name=name).first.click()
        seen.page.wait_for_timeout(550)  # a second tap at once would not count


def test_the_list_of_phones_tells_who_is_here_and_revokes_with_two_taps(visit: Open) -> None:
    access = Access(guarded=True)
    link = access.invite("watcher", label="family", lasts_s=7200.0, delay_s=120)
    access.pair("watcher", "Tablet", link)
    access.pair("hand", "iPhone")
    seen = _cook(visit, access)
    _press(seen, "Menu", "Phones")
    rows = seen.page.locator(".sheet .row")
    expect(rows).to_have_count(4)
    mine = rows.filter(has_text="this phone")
    expect(mine).to_contain_text("cook · here now")
    expect(rows.filter(has_text="Tablet")).to_contain_text("watcher · family · not here")
    out = rows.filter(has_text="Watcher's link: family")
    expect(out).to_contain_text("good for 1 h 59 min · 1 phone · 2 min late")
    hand = rows.filter(has_text="iPhone")
    hand.get_by_role("button", name="Revoke").click()
    assert len(access.pairings) == 3
    seen.page.wait_for_timeout(550)
    hand.get_by_role("button", name="Tap again: revoke").click()
    expect(rows).to_have_count(3)
    assert [one["role"] for one in access.pairings.values()] == ["watcher", "cook"]
    out.get_by_role("button", name="Revoke").click()
    seen.page.wait_for_timeout(550)
    out.get_by_role("button", name="Tap again: its phones too").click()
    expect(rows).to_have_count(1)
    assert [one["role"] for one in access.pairings.values()] == ["cook"]
    assert access.invitations == {}
    assert seen.complaints == []


def _modules(path: str, side: int) -> list[str]:
    """The dark modules of a QR's path, row by row."""
    rows = [["0"] * side for _ in range(side)]
    for x, y, width in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", path):
        for column in range(int(x), int(x) + int(width)):
            rows[int(y)][column] = "1"
    return ["".join(row) for row in rows]


@pytest.mark.parametrize("theme", ["day", "night"])
def test_an_invitation_shows_its_qr_dark_on_white_its_code_and_its_link(
    visit: Open, theme: str
) -> None:
    access = Access(guarded=True)
    script = f"localStorage.setItem('pullcall.theme', '{theme}')"
    seen = _cook(visit, access, script)
    _press(seen, "Menu", "Phones", "Invite a phone", "Watcher", "4 h", "2 min", "Hidden")
    seen.page.get_by_label("Whose").fill("family")
    _press(seen, "Make the invitation")
    expect(seen.page.locator(".qr")).to_be_visible()
    (made,) = access.invitations.values()
    assert (made["role"], made["label"], made["lasts_s"]) == ("watcher", "family", 4 * 3600)
    assert (made["delay_s"], made["hides_targets"]) == (120, True)
    link = f"http://127.0.0.1:{seen.port}/#k={made['secret']}"
    expect(seen.page.locator(".link").first).to_have_text(link)
    code = made["code"]
    expect(seen.page.locator(".handover .code")).to_have_text(f"{code[:4]} {code[4:]}")
    expect(seen.page.locator(".codeleft")).to_contain_text(re.compile(r"lives 1[0-2]\d s more"))
    qr = seen.page.locator(".qr")
    side = int(str(qr.get_attribute("viewBox")).split()[-1])
    rows = access.handed_over(made, f"http://127.0.0.1:{seen.port}/")["qr"]
    assert side == len(rows) + 8  # four modules free on each side
    drawn = _modules(str(qr.locator(".dark").get_attribute("d")), side)
    assert [row[4:-4] for row in drawn[4:-4]] == rows
    assert set("".join([*drawn[:4], *drawn[-4:], *(row[:4] + row[-4:] for row in drawn)])) == {"0"}
    fills = [
        qr.locator(part).evaluate("(e) => getComputedStyle(e).fill") for part in (".dark", ".light")
    ]
    assert fills == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    box = qr.bounding_box()
    assert box and box["width"] >= 280


def test_who_comes_by_an_invitation_is_told_beside_its_qr(visit: Open) -> None:
    access = Access(guarded=True)
    seen = _cook(visit, access)
    _press(seen, "Menu", "Phones", "Invite a phone", "Hand", "Make the invitation")
    expect(seen.page.locator(".qr")).to_be_visible()
    (made,) = access.invitations.values()
    access.pair("hand", "iPhone", made)
    expect(seen.page.locator(".came")).to_have_text("iPhone: paired as a hand.")
    _press(seen, "All phones")
    expect(seen.page.locator(".sheet .row").filter(has_text="iPhone")).to_be_visible()


def test_a_code_that_ran_out_is_struck_and_the_qr_stays(visit: Open) -> None:
    access = Access(guarded=True, code_lasts_s=2.0)
    seen = _cook(visit, access)
    _press(seen, "Menu", "Phones", "Invite a phone", "Make the invitation")
    expect(seen.page.locator(".codeleft")).to_have_text(
        "The code has run out; the QR is still good."
    )
    code = seen.page.locator(".handover .code")
    assert "line-through" in code.evaluate("(e) => getComputedStyle(e).textDecorationLine")
    expect(seen.page.locator(".qr")).to_be_visible()

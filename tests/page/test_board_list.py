"""The page of a board: which site acts next and how near it is, and what is wrong on the way."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, WebSocketRoute, expect

from tests.page.fake_board import (
    CUT,
    OK,
    SECRET,
    Board,
    Mirrored,
    alarm,
    every_kind,
    many,
    row,
    steak,
)
from tests.page.open_board import Look, LookAt
from tests.page.patience import becomes, holds, pass_time

pytestmark = pytest.mark.integration

#: Counts the rows that are written to in seven beats of the page, which a busy machine delays.
WRITTEN_MEANWHILE = """() => new Promise((done) => {
  const written = new Set();
  const watch = new MutationObserver((changes) => changes.forEach(({ target }) =>
    written.add((target.closest ?? target.parentNode.closest).call(
      target.closest ? target : target.parentNode, ".site")?.dataset.site)));
  watch.observe(document.getElementById("sites"),
    { subtree: true, childList: true, characterData: true, attributes: true });
  let beats = 0;
  const count = () => {
    beats += 1;
    if (beats < 7) return;
    clearInterval(beating);
    watch.disconnect();
    done(written.size);
  };
  const beating = setInterval(count, 200);
})"""
HELD_MS = 3000


def _seconds(words: str) -> int:
    minutes, _, seconds = words.partition(":")
    return 60 * int(minutes) + int(seconds)


def test_each_row_says_what_is_due_in_how_long_and_how_its_steaks_stand(look: LookAt) -> None:
    board = Board()
    board.rows = every_kind(board.t)
    seen = look(board)
    expect(seen.page.get_by_role("heading", level=1)).to_have_text("12 sites")
    expect(seen.page.locator(".need")).to_have_text("2 need somebody")
    expect(seen.page.get_by_role("alert")).to_have_text("Now: North grill")
    assert seen.names() == [one["name"] for one in board.rows]
    said = {
        "North grill": ["NOW", "!!!", "Alarm, priority 1: Left: pull now", r"for \d+ s"],
        "East pit": ["!!", "Not heard while cooking", r"Not heard for \d\d s", r"118\.4 °F"],
        "Westerly": [r"Both: turn in [123]\d s", "Fire falling, below the floor answered"],
        "South": [
            r"Left: pull in about [23]:\d\d",
            "Simulated, 6 times life",
            r"pull 129\s°F in over 30 min",
        ],
        "Mill": [r"Both: turn late by \d+ s"],
        "harbour": [
            r"Both: turn in 2:\d\d",
            r"Left 118\.4 °F pull 129\s°F in [34]:\d\d",
            "Turn-in closes in 2",
        ],
        "Alone": ["Left: pull in about 12 min", r"pull 129\s°F in about 12 min"],
        "Early bird": [r"Light the chimney\s+1 h 6 min", r"41\.0 °F waiting, pull 129\s°F"],
        "Rested": ["Resting", "!Alarm, priority 3: Right: rested", r"132\.4 °F resting"],
        "Lost valley": ["Both: turn was due 11 min ago", "Lost, not heard for 13 min"],
        "Gone home": ["Switched off 2 h 13 min ago", "handed in"],
        "Newcomer": ["Not on yet"],
    }
    for name, words in said.items():
        for one in words:
            expect(seen.row(name)).to_contain_text(re.compile(one))
    digits = seen.row("harbour").locator(".duein")
    before = _seconds(digits.inner_text())

    def it_counts_down() -> None:
        assert _seconds(digits.inner_text()) < before

    holds(seen.page, it_counts_down)
    board.change("harbour", next=None)  # every call was made, or the forecast says nothing of it
    expect(seen.row("harbour")).to_contain_text(re.compile(r"Left: pull in about [34]:\d\d"))
    board.change("harbour", steaks=[steak("left", 56.0, board.t, -20.0)])
    expect(seen.row("harbour")).to_contain_text(re.compile(r"Left: pull\s+NOW"))
    board.change("harbour", steaks=[steak("left", 48.0, board.t, 252.0)])
    for told in board.rows:
        board.change(told["site"], alarm=None)
    expect(seen.page.locator(".need")).to_have_text("No alarm now")
    board.change("harbour", alarm=alarm("clock_unset", "The time is not known", board.t, 3))
    expect(seen.page.locator(".need")).to_have_text("Nothing urgent: 1 alarm stands")
    seen.page.get_by_role("button", name="Unit: °F").click()
    expect(seen.row("harbour")).to_contain_text(re.compile(r"48\.0 °C\s+pull 53\.9\s°C in"))
    assert seen.complaints == []


def test_a_new_order_waits_for_the_finger_and_only_priority_1_is_an_alert(look: LookAt) -> None:
    board = Board()
    board.rows = [row(f"s{i}", f"Pitch {i}", board.t, 60.0 * i) for i in range(1, 9)]
    seen = look(board)
    expect(seen.page.locator(".site")).to_have_count(8)
    seen.row("Pitch 2").focus()
    seen.page.mouse.move(200, 200)
    seen.page.mouse.down()
    board.change("s7", first=True, alarm=alarm("probe_lost", "Left: no probe", board.t, 2))
    # It is said at once, where the row stands.
    expect(seen.row("Pitch 7")).to_contain_text("Left: no probe")
    expect(seen.page.locator(".need")).to_have_text("1 needs somebody")
    expect(seen.page.get_by_role("alert")).to_have_text("")
    pass_time(seen.page, HELD_MS + 300)  # however long the finger lies there
    assert seen.names()[0] == "Pitch 1"
    seen.page.mouse.move(200, 2)
    seen.page.mouse.up()
    expect(seen.page.locator(".sitename").first).to_have_text("Pitch 7")
    expect(seen.row("Pitch 2")).to_be_focused()
    assert [name for name in seen.names() if name != "Pitch 7"] == [
        f"Pitch {i}" for i in (1, 2, 3, 4, 5, 6, 8)
    ]
    hidden = [{**one, "pull_c": None, "pull_t": None} for one in board.rows[1]["steaks"]]
    board.change("s1", next=None, steaks=hidden)
    expect(seen.row("Pitch 1")).to_contain_text(re.compile(r"Cooking\s+Left .* °F cooking"))
    board.change("s8", alarm=alarm("over", "Left: over, take it off", board.t))
    expect(seen.page.get_by_role("alert")).to_have_text("Now: Pitch 8")
    assert seen.complaints == []


def test_of_many_sites_one_is_found_by_name_and_only_those_near_are_written(look: LookAt) -> None:
    board = Board()
    board.rows = many(200, board.t)
    seen = look(board)
    expect(seen.page.get_by_role("heading", level=1)).to_have_text("200 sites")
    pass_time(seen.page)
    written = seen.page.evaluate(WRITTEN_MEANWHILE)
    assert 0 < written < 100, "rows that nobody sees are kept up by and by, not at each second"
    seen.page.get_by_label("Find a site").fill("tch 19")
    expect(seen.page.locator(".site:visible")).to_have_count(1)
    expect(seen.row("Pitch 19")).to_be_visible()
    board.change("site-19", next={**board.rows[30]["next"], "due_t": board.t + 59}, first=True)
    expect(seen.row("Pitch 19")).to_contain_text(re.compile(r"Both: turn in\s+\d\d? s"))
    seen.page.get_by_label("Find a site").fill("nowhere")
    expect(seen.page.get_by_text("No site is called that.")).to_be_visible()
    seen.page.get_by_label("Find a site").fill("")
    expect(seen.page.locator(".site:visible")).to_have_count(200)
    # What is urgent is named while its row is out of sight.
    seen.row("Pitch 180").scroll_into_view_if_needed()
    expect(seen.page.get_by_role("alert")).to_have_class("urgent")
    assert seen.complaints == []


def test_a_board_that_cannot_be_reached_or_cannot_reach_its_broker_says_so(look: LookAt) -> None:
    shut = [True]

    def take(socket: WebSocketRoute) -> None:
        if shut:
            socket.close()
        else:
            socket.connect_to_server()

    def before(page: Page) -> None:
        page.route_web_socket(re.compile("/stream"), take)

    board = Board()
    seen = look(board, before=before)  # no event stream either: it asks each second
    expect(seen.page.get_by_text("No site yet.")).to_be_visible()
    board.rows = [row("north", "North grill", board.t)]
    expect(seen.row("North grill")).to_be_visible()
    expect(seen.page.locator(".way")).to_have_text("Link: asking each second")
    notice = seen.page.locator("#notice")
    board.broker = CUT
    expect(notice).to_have_text(CUT["note"])
    board.broker = OK
    expect(notice).to_be_hidden()
    shut.clear()
    seen.page.reload()
    expect(seen.page.locator(".way")).to_have_text("Link: live")
    board.silent = True
    expect(notice).to_contain_text(re.compile(r"No answer from the board for \d+ s"))
    digits = seen.row("North grill").locator(".duein")
    expect(digits).not_to_have_text(digits.inner_text())  # it goes on by the page's own clock
    board.silent = False
    expect(notice).to_be_hidden()


def test_the_door_of_a_board_asks_for_a_link_and_for_no_code(look: LookAt) -> None:
    board = Board(guarded=True)
    board.rows = [row("north", "North grill", board.t)]
    seen = look(board)
    door = seen.page.locator("#door")
    expect(door).to_contain_text("Ask whoever runs this board for a link")
    assert seen.page.locator("input:visible, button:visible").count() == 0
    seen.page.goto(f"{seen.address}#k=an-old-link")
    expect(door.get_by_role("alert")).to_contain_text("This link has run out")
    seen.page.goto(f"{seen.address}#k={SECRET}")
    expect(seen.row("North grill")).to_be_visible()
    expect(door).to_be_hidden()
    assert "#" not in seen.page.url
    board.shut_out()
    expect(door).to_contain_text("This phone's link to the board has run out.")
    expect(seen.page.locator(".site")).to_have_count(0)


def _offered(seen: Look) -> set[str]:
    return set(seen.page.locator("button:visible, a:visible").all_inner_texts()) - {""}


def test_a_row_leads_to_its_sites_page_which_only_shows_and_leads_back(look: LookAt) -> None:
    site = Mirrored(300.0)
    board = Board(mirrored=site)
    board.rows = [row("north", "North grill", board.t), row("east", "East pit", board.t)]
    seen = look(board)
    seen.row("North grill").click()
    expect(seen.page.locator(".lane0 .core")).to_contain_text("°F")
    expect(seen.page).to_have_title("North grill · Pullcall")
    expect(seen.page.locator("#foot")).to_contain_text("North grill")
    becomes(seen.page, lambda: _offered(seen), {"All sites", "Menu"})
    seen.page.get_by_role("button", name="Menu").click()
    sheet = {"Close", "Plan", "Choose", "Unit: °F", "Theme: auto"}
    becomes(seen.page, lambda: _offered(seen) - {"All sites", "Menu"}, sheet)
    seen.page.get_by_role("button", name="Close").click()
    site.hush(ago_s=70)  # from here on the board answers, and the site says nothing
    seen.page.reload()
    expect(seen.page.locator("#notice")).to_contain_text(
        re.compile(r"Not heard from the site for [7-9]\d s\.")
    )
    expect(seen.page.locator(".lane0 .rise")).to_contain_text("Last heard")
    site.heard = None
    expect(seen.page.locator("#notice")).to_be_hidden()
    assert seen.page.evaluate("navigator.serviceWorker.getRegistrations()") == []
    assert seen.complaints == []
    seen.page.get_by_role("link", name="All sites").click()
    expect(seen.row("East pit")).to_be_visible()
    assert seen.page.url == seen.address

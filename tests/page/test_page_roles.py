"""What each role is shown and offered: watchers only look on, hands change no setting."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from playwright.sync_api import Page, WebSocketRoute, expect

from tests.page.fake_access import Access
from tests.page.patience import holds, pass_time
from tests.page.scripted import FIRE
from tests.page.visit import PHONE, Open, Visit, marked

pytestmark = pytest.mark.integration

SIZES = [PHONE, (320, 568), (844, 390), (568, 320)]
BLIND = {"id": None, "delay_s": 120, "hides_targets": True}
BUZZES = """
window.buzzes = 0;
navigator.vibrate = () => { window.buzzes += 1; return true; };
"""


def _visit(visit: Open, role: str, terms: dict[str, Any] | None = None, **script: Any) -> Visit:
    access = Access(guarded=True)
    return visit(access=access, cookie=access.pair(role, "Phone", terms), **script)


def _nothing_scrolls(seen: Visit) -> None:
    holds(seen.page, lambda: _all_is_whole(seen))


def _all_is_whole(seen: Visit) -> None:
    for part in ("html", "main", "#board", ".lane .face", ".lane .head", "#slot", "#foot"):
        for one in seen.page.locator(part).all():
            assert one.evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1, part
    for one in seen.page.locator(".digits, .core").all():
        assert one.evaluate("(e) => e.scrollWidth - e.clientWidth") <= 0, one.inner_text()


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("terms", [None, BLIND], ids=["all", "blind"])
def test_a_watcher_has_one_key_and_asks_for_nothing_that_it_may_not(
    visit: Open, size: tuple[int, int], terms: dict[str, Any] | None
) -> None:
    seen = _visit(visit, "watcher", terms, at=300, size=size, mode="demo")
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    expect(seen.slot()).to_contain_text("since start 5:0")
    seen.site.call("fire_low", [], "Fire falling, below the floor", priority=3)
    seen.catch_up()
    pass_time(seen.page, 1500)
    pressed = seen.page.locator("main button:visible, #foot button:visible").all_inner_texts()
    curves = seen.page.locator(".curvekey:visible").count()
    assert [words for words in pressed if words] == ["Menu"]
    assert len(pressed) == 1 + curves
    expect(seen.page.get_by_role("button", name="Tap to hear calls")).to_have_count(0)
    _nothing_scrolls(seen)
    assert seen.site.access.overreached == []
    assert seen.site.phones == []
    assert seen.complaints == []


def test_a_watchers_numbers_are_larger_than_a_cooks(visit: Open) -> None:
    heights = []
    for role in ("cook", "watcher"):
        seen = _visit(visit, role, at=80, size=(320, 568))
        expect(seen.lane("Left").locator(".digits")).to_have_text(re.compile(r"^\d\d s$"))
        heights.append(
            seen.page.locator(".lane0 .digits").evaluate("(e) => getComputedStyle(e).fontSize")
        )
        shown = seen.page.locator(".lane0 .lanecurve")
        assert shown.is_visible() == (role == "watcher")
    cook, watcher = (float(height.removesuffix("px")) for height in heights)
    assert watcher > 1.15 * cook


@pytest.mark.parametrize("stage", ["before", "cooking", "resting", "after"])
def test_a_blind_watcher_is_told_no_target_at_any_stage_and_nothing_breaks(
    visit: Open, stage: str
) -> None:
    at = {"before": 0, "cooking": 80}.get(stage, 400)
    seen = _visit(visit, "watcher", BLIND, at=at, cooking=stage != "before")
    expect(seen.page.locator("#foot .watching")).to_contain_text("Watching, 2 min late")
    expect(seen.page.locator("#foot .watching")).to_contain_text("forecasts are hidden")
    if stage in ("resting", "after"):
        for mark, ago in (("turn", 280), ("flip", 160), ("off", 20)):
            seen.site.take(mark, None, ago)
    if stage == "after":
        seen.site.take("boxed", None)
        seen.site.take("handed_in", None)
    phase = {"before": "waiting", "after": "handed in"}.get(stage, stage)
    expect(seen.lane("Left").locator(".phase")).to_have_text(phase)
    seen.catch_up()
    pass_time(seen.page, 1500)
    # The script's pull and target are 53.9 and 57.2 C: 129 and 135 F.
    words = seen.page.locator("body").inner_text()
    for told in ("NaN", "undefined", "null", "129", "135", "Pull in", "Peak 1", "No forecast yet"):
        assert told not in words
    drawn = seen.page.locator("main").inner_html()
    assert "NaN" not in drawn and "Pull" not in drawn
    if stage == "cooking":
        expect(seen.lane("Left").locator(".rise")).to_have_text("+10.3 °F/min")
        expect(seen.lane("Left").locator(".label")).to_contain_text("Quarter-turn")
    if stage in ("resting", "after"):
        rows = seen.page.get_by_role("region", name="Choose").locator("tr")
        expect(rows.filter(has_text="Rested")).to_be_visible()
        expect(rows.filter(has_text="Target")).to_have_count(0)
    assert seen.complaints == []


def test_a_watchers_phone_stays_silent_and_still(visit: Open) -> None:
    seen = _visit(visit, "watcher", at=460, before=lambda page: page.add_init_script(BUZZES))
    seen.page.get_by_role("button", name="Menu").click()
    seen.page.get_by_role("button", name="Close").click()
    expect(seen.page.get_by_role("button", name="Test sound")).to_have_count(0)
    seen.site.call("pull_now", ["left"], "Left: pull now")
    expect(seen.page.get_by_role("alert")).to_contain_text("Left: pull now")
    expect(seen.page.get_by_role("button", name="Got it")).to_have_count(0)
    pass_time(seen.page, 6000)  # unanswered, it would sound again
    assert seen.page.evaluate("[window.tones.length, window.buzzes]") == [0, 0]
    assert seen.site.access.overreached == []


def test_a_late_link_that_has_nothing_to_show_yet_says_so(visit: Open) -> None:
    def only_ticks(socket: WebSocketRoute) -> None:
        hello = {"type": "hello", "epoch": "", "seq": 0, "t": 3.0, "speed": 1, "resumed": False}
        socket.send(json.dumps(hello))
        socket.on_message(lambda _: socket.send(json.dumps({"type": "tick", "t": 4.0})))

    access = Access(guarded=True)
    cookie = access.pair("watcher", "Phone", BLIND)

    def before(page: Page) -> None:
        page.route_web_socket(re.compile("/stream"), only_ticks)
        page.route("**/api/v1/snapshot", lambda route: route.fulfill(status=409, body="{}"))

    seen = visit(at=80, access=access, cookie=cookie, before=before, lanes=False)
    expect(seen.page.locator("#notice")).to_have_text(
        "Shown 2 min late: wait, it begins by itself."
    )


def test_a_hand_marks_and_answers_and_is_offered_no_setting(visit: Open) -> None:
    seen = _visit(visit, "hand", at=110, fire=FIRE)
    seen.arm()
    seen.lane("Left").locator("button.go").click()
    expect(seen.slot()).to_contain_text(marked("Left: turn"))
    seen.site.call("probe_lost", ["left"], "Left: no probe reading", priority=1)
    seen.page.get_by_role("button", name="Got it").click()
    expect(seen.page.get_by_role("alert")).to_have_count(0)
    seen.page.get_by_role("button", name="Menu").click()
    keys = seen.page.locator(".sheet button:visible").all_inner_texts()
    assert {"Plan", "Fire", "Probes", "Choose", "Forget this phone"} <= set(keys)
    settings = r"^(Window|Phones|Left|Right|Rest on|Carry-over|Start a new cook)"
    assert not [words for words in keys if re.match(settings, words)]
    seen.page.locator(".sheet").get_by_role("button", name="Fire").click()
    expect(seen.page.get_by_role("button", name="Check the grate")).to_be_enabled()
    expect(seen.page.get_by_role("group", name="Fire's floor")).to_have_count(0)
    seen.page.get_by_role("button", name="Close").click()
    seen.page.wait_for_timeout(400)  # two taps at once would count as one
    seen.page.get_by_role("button", name="Menu").click()
    seen.page.get_by_role("button", name="Probes").click()
    expect(seen.page.locator(".sheet .row")).to_have_count(2)
    expect(seen.page.locator(".sheet .row button")).to_have_count(0)
    seen.page.get_by_role("button", name="Close").click()
    seen.lane("Left").get_by_role("button", name="more marks").click()
    sheet = seen.page.locator(".sheet")
    expect(sheet.get_by_role("button", name="Enter a spot temperature")).to_be_visible()
    for name in ("Settings", "Look"):
        expect(sheet.get_by_role("button", name=name)).to_be_hidden()
    assert seen.site.access.overreached == []
    assert seen.complaints == []


def test_a_cook_who_may_only_watch_from_here_is_told_why(visit: Open) -> None:
    why = "This page is not encrypted, so phones can only watch."
    access = Access(guarded=True, note=why)
    seen = visit(at=300, access=access, cookie=access.pair("cook", "Phone"))
    expect(seen.page.locator("#notice")).to_contain_text(why)
    expect(seen.page.locator("#foot .watching")).to_contain_text("Watching")
    expect(seen.lane("Left").locator("button.go")).to_be_hidden()
    pass_time(seen.page, 1200)
    assert access.overreached == []


def _without_websocket(page: Page) -> None:
    page.route_web_socket(re.compile("/stream"), lambda socket: socket.close())


def test_the_menu_says_which_way_the_link_goes_and_how_quickly(visit: Open) -> None:
    seen = visit(at=80)
    key = seen.page.get_by_role("button", name="Menu")
    expect(key).to_have_text("Menu ")
    key.click()
    expect(seen.page.locator(".ways")).to_contain_text(re.compile(r"Link: live, \d+ ms"))


def test_a_link_that_is_not_the_best_one_has_a_sign_on_the_board(visit: Open) -> None:
    seen = visit(at=80, before=_without_websocket)
    key = seen.page.get_by_role("button", name="Menu")
    expect(key).to_have_text("Menu each second")
    expect(key).to_have_accessible_name("Menu each second, link: asking each second")
    key.click()
    expect(seen.page.locator(".ways")).to_contain_text(
        re.compile(r"Link: asking each second, \d+ ms")
    )

    def all_is_whole() -> None:
        for one in seen.page.locator("#foot, html").all():
            assert one.evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1

    holds(seen.page, all_is_whole)


@pytest.mark.parametrize("size", SIZES)
def test_while_nobody_hears_all_alarms_are_offered_beside_the_arming_key(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = _visit(visit, "cook", at=300, size=size)
    seen.site.call("fire_low", [], "Fire falling, below the floor", priority=3)
    expect(seen.page.get_by_role("button", name="Tap to hear calls")).to_be_visible()
    expect(seen.page.get_by_role("button", name="1 alarm")).to_be_visible()
    seen.site.call("unheard", [], "Nobody is hearing this: arm a phone", priority=1)
    seen.site.call("probe_lost", ["right"], "Right: no probe reading, tap in a spot", priority=1)
    expect(seen.page.get_by_role("alert")).to_contain_text("Right: no probe reading")

    def all_is_whole() -> None:
        assert seen.slot().evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1
        words = seen.slot().locator(".act").bounding_box()
        bar = seen.slot().bounding_box()
        assert words and bar and words["y"] >= bar["y"]
        assert words["y"] + words["height"] <= bar["y"] + bar["height"]
        for name in ("Tap to hear calls", "Got it", "3 alarms"):
            box = seen.slot().get_by_role("button", name=name).bounding_box()
            assert box and box["width"] >= 72 and box["x"] + box["width"] <= size[0]

    holds(seen.page, all_is_whole)
    seen.slot().get_by_role("button", name="3 alarms").click()
    expect(seen.page.locator(".sheet .row")).to_have_count(3)


def test_after_the_hand_in_the_next_cook_and_the_logbook_are_offered(visit: Open) -> None:
    seen = visit(at=560)
    for mark, ago in (("turn", 280), ("flip", 160), ("off", 90), ("boxed", 20)):
        seen.site.take(mark, None, ago)
    choose = seen.page.get_by_role("region", name="Choose")
    expect(choose.get_by_role("button", name="Logbook")).to_be_hidden()
    seen.site.take("handed_in", None)
    choose.get_by_role("button", name="Logbook").click()
    expect(seen.page.get_by_role("heading", name="Logbook")).to_be_visible()
    seen.page.get_by_role("link", name="Cook", exact=False).first.click()
    choose.get_by_role("button", name="Start a new cook").click()
    assert seen.site.begun == 0
    seen.page.wait_for_timeout(550)
    choose.get_by_role("button", name="Tap again: this cook ends").click()
    expect(seen.slot()).to_contain_text("A new cook has begun")
    assert seen.site.begun == 1


def test_times_by_the_cooks_clock_say_so(visit: Open) -> None:
    seen = visit(at=125)
    seen.arm()
    expect(seen.slot().locator(".cookclock")).to_have_text(re.compile(r"^since start 2:\d\d$"))
    seen.page.get_by_role("button", name="Last marks").click()
    expect(seen.page.locator(".sheet .row").first).to_contain_text("Right: on 0:06 since start")

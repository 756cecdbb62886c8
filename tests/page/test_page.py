"""The phone page in headless Chromium, against a scripted site that keeps the stream's contract."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.page.patience import becomes, holds, pass_time
from tests.page.visit import Open, Visit, marked

pytestmark = pytest.mark.integration


def _without_websocket(page: Page) -> None:
    page.route_web_socket(re.compile("/stream"), lambda socket: socket.close())


def _numbers(seen: Visit) -> tuple[int, int]:
    """Both countdowns, read at one moment."""
    left, right = seen.page.locator(".digits").all_inner_texts()
    return int(left.removesuffix(" s")), int(right.removesuffix(" s"))


def test_it_shows_both_countdowns_and_they_count_down(visit: Open) -> None:
    seen = visit(at=80)
    seen.arm()
    left = seen.lane("Left").locator(".digits")
    right = seen.lane("Right").locator(".digits")
    expect(left).to_have_text(re.compile(r"^\d\d s$"))
    expect(right).to_have_text(re.compile(r"^\d\d s$"))
    before = _numbers(seen)
    # The plan turns two minutes after each steak's own on; the right one went on 6 s later.
    assert before[1] - before[0] in (5, 6, 7)

    def both_are_lower() -> None:
        assert all(now < then for now, then in zip(_numbers(seen), before, strict=True))

    holds(seen.page, both_are_lower)
    expect(seen.slot()).to_contain_text("Both: quarter-turn in")
    expect(seen.lane("Left").locator(".pull")).to_contain_text("Pull in 6:")
    assert seen.complaints == []


def test_nothing_is_asked_of_any_other_host(visit: Open) -> None:
    seen = visit(at=80)
    seen.arm()
    expect(seen.slot()).to_contain_text("Both: quarter-turn in")
    assert seen.hosts == {f"127.0.0.1:{seen.port}"}


def test_a_mark_is_one_tap_and_its_undo_another(visit: Open) -> None:
    seen = visit(at=110)
    seen.arm()
    go = seen.lane("Left").locator("button.go")
    expect(go).to_have_text("Turn")
    go.click()
    expect(seen.slot()).to_contain_text(marked("Left: turn"))
    expect(go).to_have_text("Flip")
    assert [one["mark"] for one in seen.site.marks if one["steak"] == "left"] == ["on", "turn"]
    seen.page.get_by_role("button", name="Undo", exact=True).click()
    expect(go).to_have_text("Turn")
    assert [one["mark"] for one in seen.site.marks if one["steak"] == "left"] == ["on"]
    assert seen.complaints == []


def test_a_double_knock_takes_one_step_only(visit: Open) -> None:
    seen = visit(at=110)
    # Both in one task of the page: between two real taps a busy machine lets as much time pass as
    # between two that are meant.
    seen.lane("Left").locator("button.go").evaluate("(key) => { key.click(); key.click(); }")
    expect(seen.slot()).to_contain_text(marked("Left: turn"))
    expect(seen.lane("Left").locator("button.go")).to_have_text("Flip")
    assert [one["mark"] for one in seen.site.marks if one["steak"] == "left"] == ["on", "turn"]


def test_one_tap_marks_both_when_both_are_at_the_same_step(visit: Open) -> None:
    seen = visit(at=110)
    seen.page.get_by_role("button", name="Turn both").click()
    expect(seen.page.get_by_role("button", name="Flip both")).to_be_enabled()
    assert seen.site.marks[-1]["steak"] is None
    seen.site.take("flip", "left")
    expect(seen.page.get_by_role("button", name="Both", exact=True)).to_be_disabled()


def test_a_refusal_is_shown_as_its_sentence(visit: Open) -> None:
    seen = visit(at=110)
    seen.lane("Left").get_by_role("button", name="more marks").click()
    seen.page.get_by_role("button", name="Baste").click()
    expect(seen.slot()).to_contain_text("Baste only while the steak is on.")


def test_an_alarm_is_announced_and_answered(visit: Open) -> None:
    seen = visit(at=520)
    seen.arm()
    seen.site.call("pull_now", ["left"], "Left: pull now")
    expect(seen.page.get_by_role("alert")).to_contain_text("Left: pull now")
    seen.until("window.heardCalls.some((c) => c.call === 'pull_now' && c.audible)")
    seen.page.get_by_role("button", name="Got it").click()
    expect(seen.page.get_by_role("alert")).to_have_count(0)
    becomes(seen.page, lambda: seen.site.calls[-1]["state"], "acknowledged")
    assert seen.complaints == []


def test_an_unanswered_alarm_sounds_again(visit: Open) -> None:
    seen = visit(at=520)
    seen.arm()
    seen.site.call("pull_now", ["left"], "Left: pull now")
    seen.until("window.heardCalls.filter((c) => c.call === 'pull_now').length >= 4")


def test_a_planned_call_is_no_alert_and_needs_no_answer(visit: Open) -> None:
    seen = visit(at=110)
    seen.arm()
    seen.site.call("turn", ["left", "right"], "Both: turn in 10", priority=2)
    expect(seen.slot()).to_contain_text("Call")
    expect(seen.slot()).to_contain_text("Both: turn in 10")
    expect(seen.page.get_by_role("alert")).to_have_count(0)
    expect(seen.page.get_by_role("button", name="Got it")).to_have_count(0)


def test_a_dead_link_is_said_and_due_calls_sound_all_the_same(visit: Open) -> None:
    seen = visit(at=440)
    seen.arm()
    due = seen.site.t + 6
    entry = {
        "steaks": ["left"],
        "call": "pull_soon",
        "due_t": due,
        "text": "Left: pull in 40",
        "priority": 1,
    }
    seen.site.plan_calls(entry)
    seen.catch_up()
    seen.site.silent = True
    expect(seen.page.locator("#notice")).to_contain_text("Link lost")
    seen.until("window.heardCalls.some((c) => c.call === 'link_lost')")
    seen.until("window.heardCalls.some((c) => c.call === 'pull_soon')")
    expect(seen.page.get_by_role("alert")).to_contain_text("Left: pull in 40")
    # The site comes back and tells of the same call: it is one call, not two.
    seen.site.call("pull_soon", ["left"], "Left: pull in 40", t=due)
    seen.site.silent = False
    expect(seen.page.locator("#notice")).not_to_contain_text("Link lost")
    expect(seen.page.locator("#notice")).to_be_hidden()
    seen.catch_up()
    pass_time(seen.page, 1000)
    assert [one["call"] for one in seen.heard()].count("pull_soon") == 1


def test_without_websocket_and_events_the_page_polls(visit: Open) -> None:
    # The scripted site has no event stream, so only the snapshot is left.
    seen = visit(at=80, before=_without_websocket)
    left = seen.lane("Left").locator(".digits")
    expect(left).to_have_text(re.compile(r"^\d\d s$"))
    expect(left).not_to_have_text(left.inner_text())
    seen.site.call("pull_now", ["left"], "Left: pull now")
    expect(seen.page.get_by_role("alert")).to_contain_text("Left: pull now")


def test_without_an_answer_the_arming_bar_stays(visit: Open) -> None:
    seen = visit(at=80)
    expect(seen.page.get_by_role("button", name="Tap to hear calls")).to_be_visible()
    seen.site.call("pull_now", ["left"], "Left: pull now")
    seen.until("window.heardCalls.length > 0")
    assert seen.heard()[0]["audible"] is False


def test_a_spot_opens_at_the_forecast_and_is_sent_in_celsius(visit: Open) -> None:
    seen = visit(at=200)
    seen.lane("Right").get_by_role("button", name="spot temperature").click()
    value = seen.page.locator(".spot output")
    opened = int(value.inner_text().split()[0])
    # 0.095 C/s * 0.93 over 194 s from 8 C is 25.1 C: 77 F by the definition F = 1.8 C + 32.
    assert 76 <= opened <= 80
    seen.page.get_by_role("button", name="more by 5").click()
    expect(value).to_have_text(f"{opened + 5} °F")
    for key in ("1", "4", "5"):
        seen.page.locator(".keypad").get_by_role("button", name=key, exact=True).click()
    expect(value).to_have_text("145 °F")
    seen.page.get_by_role("button", name="Take this spot").click()
    expect(seen.slot()).to_contain_text("Right: spot 145 °F")
    # USDA FSIS safe minimum for whole beef steaks: 145 F (62.8 C) and a 3-minute rest.
    assert round(seen.site.spots[0]["celsius"], 1) == 62.8


def test_the_chosen_unit_outlives_a_reload(visit: Open) -> None:
    seen = visit(at=80)
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    seen.page.get_by_role("button", name="Menu").click()
    seen.page.get_by_role("button", name="Unit:").click()
    expect(seen.lane("Left").locator(".core")).to_contain_text("°C")
    seen.page.reload()
    expect(seen.lane("Left").locator(".core")).to_contain_text("°C")


def test_a_forecast_that_cannot_be_made_says_why(visit: Open) -> None:
    seen = visit(at=20, why="Too few readings since the turn.")
    expect(seen.lane("Left").locator(".why")).to_have_text("Too few readings since the turn.")


def test_before_the_steaks_are_on_the_caution_is_shown(visit: Open) -> None:
    seen = visit(cooking=False)
    expect(seen.page.locator("#caution")).to_contain_text("145 °F (62.8 °C) and a 3 minute rest")
    seen.page.get_by_role("button", name="On both").click()
    expect(seen.page.locator("#caution")).to_be_hidden()


def test_while_cooking_the_menu_has_the_cautions_and_says_that_the_link_is_lost(
    visit: Open,
) -> None:
    seen = visit(at=200)
    seen.page.get_by_role("button", name="Menu").click()
    menu = seen.page.get_by_role("dialog", name="Menu")
    expect(menu).to_contain_text("145 °F (62.8 °C) and a 3 minute rest")
    expect(menu).to_contain_text("carbon monoxide")
    expect(menu).to_contain_text("Hot metal")
    lost = menu.get_by_text("check Wi-Fi")
    expect(lost).to_be_hidden()
    seen.site.silent = True
    expect(lost).to_contain_text("Link lost")

"""A cook that is over on the page: played, scrubbed, left; and the cook that runs meanwhile."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.axe import require_axe
from tests.page.fake_recordings import UNKNOWN
from tests.page.patience import becomes, pass_time
from tests.page.test_page_axe import GRAVE, RULES, RUN
from tests.page.visit import PHONE, Open, Visit
from tests.recorded import short_facts, short_recording

pytestmark = pytest.mark.integration

SMALL = (320, 568)
LYING = (844, 390)
#: Both are on, the left one about to be pulled.
NEAR_PULL = 190
#: Keeps the moment that a replay shows first, for it plays on at once.
BEGUN = """
new MutationObserver((_, watch) => {
  const scrub = document.querySelector(".scrub");
  if (!scrub) return;
  watch.disconnect();
  requestAnimationFrame(() => { window.begun = Number(scrub.value); });
}).observe(document, { subtree: true, childList: true });
"""
#: What is seen and has more in it than it shows.
CUT = """[...document.querySelectorAll(
  "html, .lane .face, .cametrue, #slot, #replay, .tapekeys button")]
  .filter((e) => e.checkVisibility({ visibilityProperty: true })
    && Math.max(e.scrollHeight - e.clientHeight, e.scrollWidth - e.clientWidth) > 1)
  .map((e) => e.outerHTML.slice(0, 100))"""


def replayed(visit: Open, asked: str = "&t=190&speed=1", **script: Any) -> Visit:
    """The replay of the short cook while another one runs."""
    script = {"at": 80.0, "recordings": {"thin": short_recording()}, **script}
    seen = visit(path=f"/#replay=thin{asked}", **script)
    expect(seen.page.locator(".tape")).to_be_visible()
    return seen


def key(seen: Visit, name: str) -> Locator:
    return seen.page.get_by_role("region", name="Replay").get_by_role("button", name=name)


def paused(visit: Open, t: float = NEAR_PULL, more: str = "", **script: Any) -> Visit:
    """As it stands at that moment: what was played until the pause is gone back over."""
    seen = replayed(visit, f"&t={t}&speed=1{more}", **script)
    key(seen, "Pause").click()
    expect(key(seen, "Play")).to_be_visible()
    seen.page.get_by_role("slider", name="Moment of the cook").evaluate(
        "(scrub, t) => { scrub.value = t; scrub.dispatchEvent(new Event('input')); }", t
    )
    return seen


def judged(page: Page) -> list[Any]:
    """What axe finds gravely wrong."""
    return [one for one in page.evaluate(RUN, RULES) if one["impact"] in GRAVE]


def moment(seen: Visit) -> float:
    return float(seen.page.get_by_role("slider", name="Moment of the cook").input_value())


def test_it_says_how_much_of_the_cook_is_here_then_plays_it(visit: Open) -> None:
    files = list[str]()
    recordings = {"thin": short_recording()}

    def before(page: Page) -> None:
        page.add_init_script(BEGUN)
        page.on("request", lambda request: files.append(urlsplit(request.url).path))

    seen = visit(at=80, recordings=recordings, is_holding=True, before=before)
    assert not any(path.endswith(("/tape.js", "/replay.js", "/replay.css")) for path in files)
    seen.page.evaluate("window.location.hash = '#replay=thin'")
    expect(seen.page.locator(".sheet")).to_contain_text(re.compile(r"Loading the cook, [1-9]\d %"))
    expect(seen.slot()).to_contain_text("Tap to hear calls")  # the cook that runs is still shown
    seen.site.is_holding = False
    expect(seen.page.locator(".tapetitle")).to_contain_text(
        re.compile(r"Replay · 13 Jun 2026, \d\d:40")
    )
    assert seen.page.evaluate("window.begun") < 30, "shortly before the first steak is on"
    expect(key(seen, "Speed 6×")).to_be_visible()
    seen.until("Number(document.querySelector('.scrub').value) > 5")
    assert seen.complaints == []


def test_pause_and_the_keyboard_move_it_second_by_second(visit: Open) -> None:
    seen = paused(visit)
    at = moment(seen)
    assert at == NEAR_PULL
    scrub = seen.page.get_by_role("slider", name="Moment of the cook")
    for name, by in (("ArrowRight", 5), ("ArrowLeft", -5), ("PageUp", 60), ("PageDown", -60)):
        before = moment(seen)
        scrub.press(name)
        assert moment(seen) == pytest.approx(before + by)
    assert moment(seen) == pytest.approx(at)
    expect(scrub).to_have_attribute("aria-valuetext", re.compile(r"3:1\d since start"))
    scrub.press("End")
    expect(seen.page.locator(".tapetitle")).to_contain_text("over, 6:40 of 6:40")
    expect(seen.lane("Left").locator(".phase")).to_have_text("handed in")
    key(seen, "Again").click()
    assert moment(seen) < 60
    expect(seen.lane("Left").locator(".phase")).to_have_text("waiting")


def test_next_previous_and_the_list_go_to_marks_and_calls(visit: Open) -> None:
    seen = paused(visit, 95)
    key(seen, "Next mark or call").click()
    expect(seen.page.locator(".tapetitle")).to_contain_text("1:39 of")  # the lid is opened
    key(seen, "Previous mark or call").click()
    key(seen, "Previous mark or call").click()
    assert moment(seen) < 95
    key(seen, "List of marks and calls").click()
    sheet = seen.page.get_by_role("dialog", name="Marks and calls")
    expect(sheet.get_by_role("button", name=re.compile("Left: flip")).last).to_be_visible()
    sheet.get_by_role("button", name=re.compile("3:2. Left: pull now")).click()
    expect(sheet).to_have_count(0)
    expect(seen.slot()).to_contain_text("Left: pull now")
    expect(seen.slot()).to_contain_text("Alarm of the replay")
    expect(seen.lane("Left").locator(".digits")).to_have_text("NOW")


def test_the_speed_is_chosen_from_a_list(visit: Open) -> None:
    seen = replayed(visit, "&t=30&speed=9")
    key(seen, "Speed 10×").click()  # the nearest there is
    sheet = seen.page.get_by_role("dialog", name="Speed")
    expect(sheet.get_by_role("button", pressed=True)).to_have_text("10×")
    sheet.get_by_role("button", name="60×").click()
    expect(key(seen, "Speed 60×")).to_be_visible()
    expect(seen.page.locator(".tapetitle")).to_contain_text("over")
    expect(key(seen, "Again")).to_be_visible()


def test_nothing_of_it_can_be_marked_or_answered(visit: Open) -> None:
    seen = paused(visit, 206)
    expect(seen.slot()).to_contain_text("Left: pull now")
    expect(seen.slot().get_by_role("button", name="Got it")).to_have_count(0)
    expect(seen.page.get_by_role("alert")).to_have_count(0)
    for part in ("#foot", ".lane0 .keys", ".lane1 .keys"):
        expect(seen.page.locator(part)).to_be_hidden()
    key(seen, "Menu").click()
    expect(seen.page.get_by_role("button", name="Unit: °F")).to_be_visible()
    expect(seen.page.get_by_role("button", name="Start a new cook")).to_have_count(0)


def test_each_lane_says_beside_its_forecast_what_came_true(visit: Open) -> None:
    seen = paused(visit)
    facts = short_facts().steak("right")
    assert facts
    assert facts.cross_t
    assert facts.off_c
    assert facts.peak_c
    lane = seen.lane("Right")
    left = facts.cross_t - moment(seen)
    expect(lane.locator(".cametrue span").first).to_have_text(
        re.compile(f"Came true: ({int(left)}|{int(left) + 1}) s")
    )
    expect(lane.locator(".cametrue")).to_contain_text(
        f"Pulled at {facts.off_c * 9 / 5 + 32:.1f} °F"
    )
    expect(lane.locator(".cametrue")).to_contain_text(f"Peak {facts.peak_c * 9 / 5 + 32:.1f} °F")
    rows = lane.locator("table tbody", has_text="What came true").locator("tr")
    expect(rows).to_contain_text(
        ["What came true", "Reached its pull temperature", "Pulled", "Peak"]
    )
    seen.page.get_by_role("slider", name="Moment of the cook").press("Home")
    expect(lane.locator(".cametrue")).to_be_hidden()


def test_the_curve_draws_the_rest_of_the_trace_unlike_the_forecast(visit: Open) -> None:
    seen = paused(visit)
    seen.until("document.querySelector('.lane0 polyline.truth')?.points.length > 5")
    last, first, dashes = seen.page.evaluate(
        """() => {
          const of = (role) => document.querySelector(`.lane0 .curve polyline.${role}`);
          const dash = (role) => getComputedStyle(of(role)).strokeDasharray;
          return [[...of("trace").points].at(-1).x, of("truth").points[0].x,
            ["trace", "ahead", "truth"].map(dash)];
        }"""
    )
    assert first > last - 0.1, "it goes on where the trace ends"
    assert len(set(dashes)) == 3
    seen.page.get_by_role("slider", name="Moment of the cook").press("End")
    seen.page.get_by_role("button", name="Previous mark or call").click()
    seen.until("document.querySelector('.lane0 polyline.truth').points.length === 0")


def test_the_tape_makes_no_sound_and_the_cook_that_runs_is_heard(visit: Open) -> None:
    seen = visit(at=80, recordings={"thin": short_recording()})
    seen.arm()
    seen.until("window.heardCalls.some((c) => c.call === 'test')")
    seen.page.evaluate("window.tones.length = 0; window.heardCalls.length = 0")
    seen.page.evaluate("window.location.hash = '#replay=thin&speed=60'")
    expect(seen.page.locator(".tapetitle")).to_contain_text("over")
    assert (seen.heard(), seen.page.evaluate("window.tones")) == ([], [])
    seen.site.call("probe_lost", ["left"], "Left: probe silent, check it", priority=2)
    expect(seen.slot()).to_contain_text("The cook now")
    expect(seen.slot()).to_contain_text("Left: probe silent, check it")
    seen.until("window.heardCalls.length === 1")
    assert seen.page.evaluate("window.tones.length") > 0
    seen.slot().get_by_role("button", name="To the cook").click()
    expect(seen.page.locator("#replay")).to_be_hidden()
    expect(seen.slot().get_by_role("button", name="Got it")).to_be_visible()


def test_an_urgent_call_of_the_cook_that_runs_leads_back_at_once(visit: Open) -> None:
    seen = paused(visit)
    key(seen, "List of marks and calls").click()
    seen.site.call("pull_now", ["right"], "Right: pull now")
    expect(seen.page.get_by_role("alert")).to_contain_text("Right: pull now")
    expect(seen.page.locator("#replay")).to_be_hidden()
    expect(seen.page.locator(".sheet")).to_have_count(0)
    expect(seen.slot().get_by_role("button", name="Got it")).to_be_enabled()
    assert seen.page.evaluate("window.location.hash") == ""


def test_the_last_key_leads_back_to_the_cook_which_went_on_meanwhile(visit: Open) -> None:
    seen = paused(visit)
    seen.site.take("turn", None)
    expect(seen.lane("Left").locator(".digits")).not_to_have_text("–")
    key(seen, "Back to the cook").click()
    expect(seen.page.locator("#replay")).to_be_hidden()
    expect(seen.lane("Left").locator(".cametrue")).to_be_hidden()
    expect(seen.lane("Left").locator("button.go")).to_have_text("Flip")
    expect(seen.page.locator("#foot")).to_be_visible()
    seen.page.evaluate("window.location.hash = '#replay=thin&t=30'")
    expect(seen.page.locator(".tape")).to_be_visible()
    seen.page.evaluate("window.location.hash = ''")
    expect(seen.page.locator("#replay")).to_be_hidden()


def test_from_the_logbook_it_leads_back_there(visit: Open) -> None:
    seen = paused(visit, 30, "&from=logbook")
    key(seen, "To the logbook").click()
    seen.page.wait_for_url("**/logbook#cook=thin")


def test_a_recording_that_is_missing_or_breaks_off_says_so(visit: Open) -> None:
    broken = short_recording()[: len(short_recording()) // 2]
    seen = visit(path="/#replay=nothing", at=80, recordings={"broken": broken})
    sheet = seen.page.get_by_role("dialog", name="Replay")
    expect(sheet).to_contain_text(UNKNOWN)
    sheet.get_by_role("button", name="Close", exact=True).click()
    expect(seen.page.locator("#foot")).to_be_visible()
    assert seen.page.evaluate("window.location.hash") == ""
    seen.page.evaluate("window.location.hash = '#replay=broken'")
    expect(sheet).to_contain_text("open its replay again")


def test_a_site_of_a_cook_that_is_over_plays_it_at_once(visit: Open) -> None:
    cook = {"id": "thin"}
    recordings = {"thin": short_recording()}
    seen = visit(at=400, mode="replay", ends_t=400.0, speed=4, cook=cook, recordings=recordings)
    expect(key(seen, "Speed 4×")).to_be_visible()
    expect(key(seen, "Back to the cook")).to_have_count(0)
    seen.site.call("over", ["left"], "Left: 4 °F over, pull now")  # of its last moment
    seen.catch_up()
    pass_time(seen.page)
    expect(seen.page.locator(".tape")).to_be_visible()
    assert seen.heard() == []
    assert seen.site.phones == [] or not seen.site.phones[-1]["armed"]


@pytest.mark.parametrize("size", [PHONE, SMALL, LYING])
def test_all_of_it_is_whole_on_every_phone(visit: Open, size: tuple[int, int]) -> None:
    seen = paused(visit, size=size)
    for t in (NEAR_PULL, 206, 260, 380):
        while abs(moment(seen) - t) > 10:
            step = "PageUp" if moment(seen) < t - 30 else "ArrowRight"
            seen.page.get_by_role("slider", name="Moment of the cook").press(step)
        pass_time(seen.page)
        becomes(seen.page, lambda: seen.page.evaluate(CUT), [])
    for button in seen.page.locator(".tapekeys button").all():
        box = button.bounding_box()
        assert box
        assert box["height"] >= 72
        assert box["width"] >= 60


@pytest.mark.parametrize("theme", ["day", "night"])
def test_its_screens_break_no_rule_of_axe(visit: Open, theme: str) -> None:
    def before(page: Page) -> None:
        page.add_init_script(f"localStorage.setItem('pullcall.theme', '{theme}')")
        page.add_init_script(require_axe())

    seen = paused(visit, 206, before=before)
    for panel in (None, "Speed 1×", "List of marks and calls"):
        if panel:
            key(seen, panel).click()
        becomes(seen.page, lambda: judged(seen.page), [])
        if panel:
            seen.page.get_by_role("button", name="Close", exact=True).click()
    seen.site.call("probe_lost", ["left"], "Left: probe silent, check it", priority=2)
    expect(seen.slot()).to_contain_text("The cook now")
    becomes(seen.page, lambda: judged(seen.page), [])

"""What sounds and is shown of calls and alarms: bursts, receipts, loops, answers, a dead link."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from tests.page.modules import page_of_modules
from tests.page.patience import becomes, holds, pass_time
from tests.page.visit import PHONE, Open, Visit, gather_longer

pytestmark = pytest.mark.integration

SIZES = [PHONE, (320, 568), (844, 390), (568, 320)]
COUNT = "window.bursts.filter((b) => b.calls[0].call === '{}' && b.audible).length"


def _count(kind: str) -> str:
    return COUNT.format(kind)


def _settle(seen: Visit) -> None:
    """Let the test call of the arming tap end, then forget it."""
    seen.until("window.heardCalls.some((c) => c.call === 'test')")
    pass_time(seen.page, 1500)


def _receipts(seen: Visit) -> set[str]:
    return {one["call"] for one in seen.site.receipts}


def test_a_phone_tells_that_it_is_here_and_from_when_on_it_is_armed(visit: Open) -> None:
    seen = visit(at=80)
    becomes(seen.page, lambda: {one["armed"] for one in seen.site.phones}, {False})
    seen.arm()
    becomes(seen.page, lambda: seen.site.phones[-1]["armed"], True)
    _tells(seen)
    names = {one["phone"] for one in seen.site.phones}
    assert len(names) == 1
    # The contract takes 4 to 40 letters, digits and dashes.
    assert 4 <= len(next(iter(names))) <= 40
    seen.page.reload()
    _tells(seen)
    assert {one["phone"] for one in seen.site.phones} == names
    assert seen.complaints == []


def _tells(seen: Visit) -> None:
    """Wait until it tells of itself again."""
    before = len(seen.site.phones)
    becomes(seen.page, lambda: len(seen.site.phones) > before, True)


def test_a_call_that_sounded_is_confirmed_and_a_mute_phone_confirms_nothing(visit: Open) -> None:
    seen = visit(at=100)
    seen.site.call("turn", ["left"], "Left: turn in 10", priority=2)
    seen.until("window.heardCalls.some((c) => c.call === 'turn')")
    pass_time(seen.page)
    assert seen.site.receipts == []
    seen.arm()
    _settle(seen)
    made = seen.site.call("flip", ["left"], "Left: flip in 10", priority=2)
    seen.until("window.heardCalls.some((c) => c.call === 'flip' && c.audible)")
    phone = seen.site.phones[0]["phone"]
    becomes(seen.page, lambda: seen.site.receipts, [{"phone": phone, "call": made["id"]}])


def test_calls_of_one_moment_sound_once_and_are_read_together(visit: Open) -> None:
    seen = visit(at=460, before=gather_longer)
    seen.arm()
    _settle(seen)
    first, second = seen.site.call_all(
        {"call": "pull_now", "steaks": ["left"], "text": "Left: pull now"},
        {"call": "pull_now", "steaks": ["right"], "text": "Right: pull now"},
    )
    seen.until("window.heardCalls.some((c) => c.steaks[0] === 'right')")
    assert (
        seen.page.evaluate("window.bursts.filter((b) => b.calls[0].call === 'pull_now').length")
        == 1
    )
    alert = seen.page.get_by_role("alert")
    expect(alert).to_contain_text("Left: pull now. Right: pull now")
    becomes(seen.page, lambda: _receipts(seen), {first["id"], second["id"]})
    # One answer settles what is of one kind.
    seen.page.get_by_role("button", name="Got it").click()
    expect(alert).to_have_count(0)
    becomes(seen.page, lambda: [one["state"] for one in seen.site.calls], ["acknowledged"] * 2)


def test_an_insistent_tone_goes_on_without_a_pause_until_got_it(visit: Open) -> None:
    seen = visit(at=460)
    seen.arm()
    _settle(seen)
    seen.site.call("over", ["left"], "Left: over, take it off", insistent=True)
    seen.until(f"{_count('over')} >= 1")
    seen.until(f"{_count('over')} >= 4")
    seen.page.get_by_role("button", name="Got it").click()
    expect(seen.page.get_by_role("alert")).to_have_count(0)
    stopped = seen.page.evaluate(_count("over"))
    pass_time(seen.page, 3000)
    assert seen.page.evaluate(_count("over")) == stopped


@pytest.mark.parametrize(("is_insistent", "bursts"), [(False, 1), (True, 5)])
def test_a_burst_begins_anew_each_five_seconds_or_without_a_pause(
    browser: Browser, is_insistent: bool, bursts: int
) -> None:
    page = page_of_modules(browser)
    # Beats of 200 ms, in which a tone is 1.1 s long, from the first burst until 6 s after it.
    sounded = page.evaluate(
        """async (insistent) => {
          const { Caller } = await import("/calls.js");
          const call = { type: "call", id: "c1", t: 100, call: "over", steaks: ["left"],
            priority: 1, text: "", state: "unacknowledged", insistent };
          const board = { ready: true, speed: 1, calls: [call], schedule: [], laneOf: () => 0 };
          const bursts = [];
          let ms = 5000;
          const sound = { armed: true, look() {}, play() { this.end = ms + 1120; return {}; },
            get busy() { return ms < this.end; } };
          const caller = new Caller(board, sound, { sounded: () => bursts.push(ms), told() {} });
          caller.clips = { say() {}, step() {} };
          caller.hear(call, 100, ms);
          for (; ms <= 11_000; ms += 200) {
            caller.step(100 + (ms - 5000) / 1000, ms, { lost: false, quietMs: () => 0 });
          }
          return bursts;
        }""",
        is_insistent,
    )
    assert sounded[0] == 5000
    assert len(sounded) - 1 == bursts
    page.close()


def test_the_same_call_told_again_because_nobody_confirmed_it_loops_too(visit: Open) -> None:
    seen = visit(at=460)
    seen.arm()
    _settle(seen)
    made = seen.site.call("probe_lost", ["left"], "Left: no probe reading", priority=2)
    seen.until(f"{_count('probe_lost')} === 1")
    seen.site.call("probe_lost", ["left"], "Left: no probe reading", priority=2,
                   id=made["id"], t=made["t"], insistent=True)  # fmt: skip
    seen.until(f"{_count('probe_lost')} >= 3")
    seen.site.set_state(made["id"], "cleared")
    seen.catch_up()
    stopped = seen.page.evaluate(_count("probe_lost"))
    pass_time(seen.page, 2500)
    assert seen.page.evaluate(_count("probe_lost")) == stopped


def test_a_lesser_alarm_is_put_aside_for_five_minutes(visit: Open) -> None:
    seen = visit(at=300)
    seen.arm()
    made = seen.site.call("fire_low", [], "Fire falling, below the floor", priority=2)
    expect(seen.slot()).to_contain_text("Alarm, unanswered")
    seen.page.get_by_role("button", name="5 min").click()
    expect(seen.slot()).not_to_contain_text("Fire falling")
    wanted = [{"call": made["id"], "by": "phone", "for_s": 300}]
    becomes(seen.page, lambda: seen.site.shelvings, wanted)
    # It stays in sight, with its state in words.
    expect(seen.page.locator(".others")).to_contain_text("Fire falling, below the floor (put aside")
    assert seen.complaints == []


def test_a_spot_that_is_due_is_something_to_do_and_an_estimated_pull_says_so(visit: Open) -> None:
    seen = visit(at=300, probed=False)
    words = "Left: spot it, pull may come in 2 to 4 min"
    seen.site.call("spot_due", ["left"], words, priority=2)
    expect(seen.slot()).to_contain_text(words)
    expect(seen.slot()).to_contain_text("To do, unanswered")
    seen.site.call("pull_now", ["left"], "Left: pull now, by estimate: check it")
    expect(seen.page.get_by_role("alert")).to_contain_text("pull now, by estimate: check it")


def test_what_is_to_be_done_in_seconds_cannot_be_put_aside(visit: Open) -> None:
    seen = visit(at=300)
    seen.site.call("pull_now", ["left"], "Left: pull now")
    expect(seen.page.get_by_role("button", name="Got it")).to_be_visible()
    expect(seen.page.get_by_role("button", name="5 min")).to_have_count(0)


@pytest.mark.parametrize("size", SIZES)
def test_lesser_alarms_wait_in_a_list_with_keys_of_their_own(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, at=300)
    seen.site.call("fire_low", [], "Fire falling, below the floor", priority=3)
    seen.site.call("probe_lost", ["right"], "Right: no probe reading, tap in a spot", priority=2)
    seen.site.call("pull_now", ["left"], "Left: pull now")
    expect(seen.page.get_by_role("alert")).to_contain_text("Left: pull now")
    expect(seen.page.locator(".others")).to_contain_text("Right: no probe reading")
    seen.page.get_by_role("button", name="3 alarms").click()
    rows = seen.page.locator(".sheet .row")
    expect(rows).to_have_count(3)
    expect(rows.nth(2)).to_contain_text("unanswered")
    key = rows.nth(2).get_by_role("button", name="Got it: Fire falling")

    def the_key_is_large() -> None:
        box = key.bounding_box()
        assert box and box["width"] >= 72 and box["height"] >= 72

    holds(seen.page, the_key_is_large)
    key.click()
    expect(rows.nth(2)).to_contain_text("Alarm, answered")


@pytest.mark.parametrize("size", SIZES)
def test_when_nobody_hears_the_alarm_leads_to_the_arming_tap(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, at=300)
    seen.site.call("unheard", [], "Nobody is hearing this: arm a phone or a speaker", priority=2)
    expect(seen.slot()).to_contain_text("Nobody is hearing this")

    def it_is_whole() -> None:
        words = seen.slot().locator(".act")
        assert words.evaluate("(e) => e.getBoundingClientRect().height") <= 84
        assert seen.slot().evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1

    holds(seen.page, it_is_whole)
    seen.page.get_by_role("button", name="Tap to hear calls").click()
    seen.until("window.heardCalls.some((c) => c.call === 'test' && c.audible)")
    becomes(seen.page, lambda: seen.site.phones[-1]["armed"], True)
    seen.site.set_state("c0", "cleared")
    expect(seen.slot()).to_contain_text("Heard it?")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("kind", ["pull_soon", "pull_now", "over"])
def test_that_nobody_hears_never_hides_a_pull_and_the_arming_tap_stays(
    visit: Open, size: tuple[int, int], kind: str
) -> None:
    seen = visit(size, at=460)
    seen.site.call("unheard", [], "Nobody is hearing this: arm a phone or a speaker", priority=1)
    expect(seen.slot()).to_contain_text("Nobody is hearing this")
    seen.site.call(kind, ["left"], "Left: take it off")
    expect(seen.slot()).to_contain_text("Left: take it off")
    expect(seen.page.locator("#lines .others")).to_contain_text("Nobody is hearing this")
    seen.page.get_by_role("button", name="Tap to hear calls").click()
    seen.until("window.heardCalls.some((c) => c.call === 'test' && c.audible)")


def _entry(steak: str, call: str, due: float, text: str, priority: int = 1) -> dict[str, Any]:
    return {"steaks": [steak], "call": call, "due_t": due, "text": text, "priority": priority}


def _due(seen: Visit, *entries: dict[str, Any]) -> None:
    """Push the schedule, wait until it arrived, then cut the link."""
    seen.site.plan_calls(*entries)
    seen.catch_up()
    seen.site.silent = True


def test_a_page_whose_link_dies_30_s_before_a_pull_still_sounds_it(visit: Open) -> None:
    seen = visit(at=440, speed=3)
    seen.arm()
    due = seen.site.t + 32
    _due(seen, _entry("left", "pull_now", due, "Left: pull now"))
    seen.until("window.heardCalls.some((c) => c.call === 'pull_now' && c.audible)")
    assert seen.site.t >= due
    expect(seen.page.get_by_role("alert")).to_contain_text("Left: pull now")
    # It is answered here; the site, back again, calls the same and gets that answer.
    seen.page.get_by_role("button", name="Got it").click()
    expect(seen.page.get_by_role("alert")).to_have_count(0)
    sounded = seen.page.evaluate(_count("pull_now"))
    seen.site.call("pull_now", ["left"], "Left: pull now")
    seen.site.silent = False
    expect(seen.page.locator("#notice")).to_be_hidden()
    becomes(seen.page, lambda: seen.site.calls[-1]["state"], "acknowledged")
    assert seen.page.evaluate(_count("pull_now")) == sounded


def test_twins_of_a_dead_link_sound_as_one(visit: Open) -> None:
    seen = visit(at=100)
    seen.arm()
    due = seen.site.t + 5
    _due(
        seen,
        _entry("left", "turn", due, "Left: turn now", 2),
        _entry("right", "turn", due + 6, "Right: turn now", 2),
    )
    seen.until("window.heardCalls.some((c) => c.call === 'turn')")
    expect(seen.slot()).to_contain_text("Both: turn now")
    pass_time(seen.page, 7500)
    turns = [one for one in seen.heard() if one["call"] == "turn"]
    assert [one["steaks"] for one in turns] == [["left", "right"]]


def test_a_call_that_waited_in_the_link_while_the_phone_slept_is_not_sounded(
    browser: Browser,
) -> None:
    page = page_of_modules(browser)
    sounded = page.evaluate(
        """async () => {
          const { Caller } = await import("/calls.js");
          const bursts = [];
          const board = { speed: 1, calls: [], schedule: [], laneOf: () => 0 };
          const sound = { armed: true, play: () => ({}), look() {}, settle() {} };
          const caller = new Caller(board, sound, { sounded: (b) => bursts.push(b), told() {} });
          caller.clips = { say() {}, step() {} };
          const call = (id, t, kind) => ({ type: "call", id, t, call: kind, steaks: ["left"],
            priority: 1, text: "", state: "unacknowledged" });
          caller.hear(call("c1", 100, "pull_soon"), 100, 5000);
          caller.hear(call("c2", 135, "pull_now"), 135, 5000);
          caller.hear({ type: "tick", t: 140 }, 140, 5000);
          caller.flush(5000);
          return bursts.flatMap((b) => b.calls.map((c) => c.call));
        }"""
    )
    assert sounded == ["pull_now"]
    page.close()


def test_what_was_called_in_the_cook_before_is_over_once_another_is_told(visit: Open) -> None:
    seen = visit(at=440)
    seen.arm()
    _due(seen, _entry("right", "pull_now", seen.site.t + 3, "Right: pull now"))
    expect(seen.page.get_by_role("alert")).to_contain_text("Right: pull now")
    seen.site.marks, seen.site.schedule, seen.site.cook = [], [], {"id": "next"}
    told = {k: v for k, v in seen.site.snapshot().items() if k not in ("type", "seq")}
    seen.site.silent = False  # where the page has hung up already, it calls again and is told
    seen.site.send("snapshot", **told)
    seen.until("document.querySelector('.lane1 .phase').textContent === 'waiting'")
    # Painted at the same moment as the phase.
    assert seen.page.get_by_role("alert").count() == 0


def test_a_page_that_never_heard_of_a_cook_has_no_link_to_lose(browser: Browser) -> None:
    page = page_of_modules(browser)
    sounded = page.evaluate(
        """async () => {
          const { Caller } = await import("/calls.js");
          const bursts = [];
          const board = { ready: false, speed: 1, calls: [], schedule: [], laneOf: () => 0 };
          const sound = { armed: true, play: () => ({}), look() {} };
          const caller = new Caller(board, sound, { sounded: (b) => bursts.push(b) });
          caller.clips = { say() {}, step() {} };
          const link = { lost: true, quietMs: () => 6000 };
          caller.step(null, 6000, link);
          const fresh = bursts.length;
          board.ready = true;
          caller.step(null, 6200, link);
          return [fresh, bursts.flatMap((b) => b.calls.map((c) => c.call))];
        }"""
    )
    assert sounded == [0, ["link_lost"]]
    page.close()


def test_on_a_small_phone_the_bar_keeps_its_words_whole_beside_what_answers_them(
    visit: Open,
) -> None:
    seen = visit((320, 568), at=300)
    t = seen.site.t
    for steak in ("Left", "Right"):
        words = f"{steak}: no probe reading, tap in a spot"
        seen.site.call("probe_lost", [steak.lower()], words, priority=2, t=t)
    expect(seen.slot()).to_contain_text("Left and right: no probe reading, tap in a spot")
    expect(seen.slot().get_by_role("button", name="Put aside 5 min")).to_be_visible()
    _stands_clear(seen)
    seen.site.call("unheard", [], "Nobody is hearing this: arm a phone or a speaker", priority=2)
    seen.site.set_state("c0", "acknowledged")
    seen.site.set_state("c1", "acknowledged")
    expect(seen.slot()).to_contain_text("Nobody is hearing this")
    expect(seen.slot().get_by_role("button")).to_have_text(["3 alarms", "Tap to hear calls"])
    _stands_clear(seen)
    seen.slot().get_by_role("button", name="Tap to hear calls").click()
    seen.site.set_state("c2", "cleared")
    expect(seen.slot()).to_contain_text("Heard it?")
    expect(seen.slot().get_by_role("button")).to_have_text(["2 alarms", "Yes", "No"])
    _stands_clear(seen)


def _stands_clear(seen: Visit) -> None:
    holds(seen.page, lambda: _clear(seen))


def _clear(seen: Visit) -> None:
    """Nothing in the bar touches its frame, and every key takes a knuckle."""
    bar, words = (one.bounding_box() for one in (seen.slot(), seen.slot().locator(".act")))
    assert bar and words
    assert words["y"] >= bar["y"] + 3
    assert words["y"] + words["height"] <= bar["y"] + bar["height"] - 3
    for key in seen.slot().get_by_role("button").all():
        box = key.bounding_box()
        assert box and min(box["width"], box["height"]) >= 72 and box["x"] + box["width"] <= 320

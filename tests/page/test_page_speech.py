"""The words of calls on a phone: after their tone, with a dead link too, and never in its way."""

from __future__ import annotations

import asyncio
import itertools
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from pullcall.outlets.speech import Speech
from pullcall.outlets.wav import RATE_HZ, from_wav, seconds_of, to_wav
from tests.page.patience import becomes, pass_time
from tests.page.visit import Open, Visit, gather_longer
from tests.tools import require_tool

pytestmark = pytest.mark.integration

#: What a burst's tone lasts, seconds, by priority (as docs/outlets.md has it).
TONE_S = {1: 0.98 + 0.14, 2: 0.68 + 0.2}
#: Between a tone and its words, seconds.
BREATH_S = 0.15
#: The clock of the sound goes so slowly that a busy machine, too, has words here before their tone
#: is long over: the page leaves out words that come late.
SLOW = """
const { get } = Object.getOwnPropertyDescriptor(BaseAudioContext.prototype, "currentTime");
Object.defineProperty(BaseAudioContext.prototype, "currentTime", {
  get() { return get.call(this) / 3; },
});
"""


def words(seconds: float) -> bytes:
    """A clip that is known by its length."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return to_wav((12000 * np.sin(2 * np.pi * 300 * t)).astype(np.int16))


def entry(steak: str, call: str, due: float, clip: str | None, priority: int = 2) -> dict[str, Any]:
    return {"steaks": [steak], "call": call, "due_t": due, "text": f"{call} {steak} now",
            "priority": priority, "clip": clip}  # fmt: skip


def _before(page: Page) -> None:
    page.add_init_script(SLOW)
    gather_longer(page)


def armed(visit: Open, clips: dict[str, bytes], is_slow: bool = True, **script: Any) -> Visit:
    """A phone that hears calls, its test call over and forgotten; ``is_slow``: its sound is."""
    seen = visit(before=_before if is_slow else gather_longer, **script)
    seen.site.clips = clips
    seen.arm()
    seen.until("window.heardCalls.some((c) => c.call === 'test')")
    pass_time(seen.page, 1500)
    seen.page.evaluate("window.tones = []; window.toneStarts = []; window.words = []")
    return seen


def asked(seen: Visit, *ids: str) -> None:
    """Wait until the page has asked for these clips, in this order, and has them."""
    becomes(seen.page, lambda: seen.site.clips_asked, list(ids))
    seen.until(f"window.decoded >= {len(ids)}")


def said(seen: Visit, count: int = 1) -> list[dict[str, Any]]:
    """The words that were begun, once there are ``count``."""
    seen.until(f"window.words.length >= {count}")
    told: list[dict[str, Any]] = seen.page.evaluate("window.words")
    return told


def tone_starts(seen: Visit) -> list[float]:
    starts: list[float] = seen.page.evaluate("window.toneStarts")
    return starts


def test_words_are_fetched_ahead_and_said_after_the_tone(visit: Open) -> None:
    seen = armed(visit, {"a": words(1.0)}, at=100)
    seen.site.plan_calls(entry("left", "flip", seen.site.t + 60, "a"))
    asked(seen, "a")
    assert seen.page.evaluate("window.words.length") == 0
    seen.site.call("flip", ["left"], "Left: flip now", priority=2, clip="a")
    [word] = said(seen)
    assert word["seconds"] == pytest.approx(1.0, abs=0.01)
    assert word["at"] == pytest.approx(tone_starts(seen)[0] + TONE_S[2] + BREATH_S, abs=0.01)
    assert seen.site.clips_asked == ["a"], "it was kept"
    assert seen.complaints == []


def test_words_of_a_call_that_was_not_scheduled_are_fetched_at_once(visit: Open) -> None:
    seen = armed(visit, {"a": words(1.0)}, at=100)
    seen.site.call("probe_lost", ["left"], "Left: no probe reading", priority=2, clip="a")
    [word] = said(seen)
    assert word["at"] >= tone_starts(seen)[0] + TONE_S[2]
    assert seen.site.clips_asked == ["a"]


def test_calls_of_one_burst_are_said_one_after_the_other(visit: Open) -> None:
    seen = armed(visit, {"a": words(0.5), "b": words(0.75), "c": words(1.0)}, at=460)
    seen.site.call_all(
        {"call": "flip", "steaks": ["right"], "text": "Right: flip", "priority": 2, "clip": "c"},
        {"call": "pull_soon", "steaks": ["left"], "text": "Left: pull in 20", "in_s": 20,
         "clip": "a"},
        {"call": "pull_soon", "steaks": ["right"], "text": "Right: pull in 40", "in_s": 40,
         "clip": "b"},
    )  # fmt: skip
    told = said(seen, 3)
    assert [round(word["seconds"], 2) for word in told] == [0.5, 0.75, 1.0]
    assert told[0]["at"] >= tone_starts(seen)[0] + TONE_S[1]
    for before, after in itertools.pairwise(told):
        assert after["at"] == pytest.approx(before["at"] + before["seconds"] + BREATH_S, abs=0.01)


def test_where_words_of_the_most_urgent_calls_are_missing_none_of_them_are_said(
    visit: Open,
) -> None:
    seen = armed(visit, {"a": words(0.5), "c": words(1.0)}, at=460)
    seen.site.call_all(
        {"call": "pull_now", "steaks": ["left"], "text": "Left: pull now", "clip": "a"},
        {"call": "pull_now", "steaks": ["right"], "text": "Right: pull now", "clip": "missing"},
        {"call": "flip", "steaks": ["right"], "text": "Right: flip", "priority": 2, "clip": "c"},
    )
    [word] = said(seen)
    assert round(word["seconds"], 2) == 1.0


def test_with_a_dead_link_the_words_that_were_fetched_are_said(visit: Open) -> None:
    seen = armed(
        visit, {"a": words(0.5), "b": words(0.75), "c": words(1.0)}, False, at=440, speed=3
    )
    due = seen.site.t + 30
    seen.site.plan_calls(entry("left", "turn", due, "a"), entry("right", "turn", due + 6, "b"),
                         entry("left", "pull_now", due + 18, "c", 1))  # fmt: skip
    asked(seen, "a", "b", "c")
    seen.site.silent = True
    # Twins are called as one: the site's words for each of them, in order.
    told = said(seen, 2)
    assert [round(word["seconds"], 2) for word in told] == [0.5, 0.75]
    expect(seen.slot()).to_contain_text("Both: turn now")
    seen.until("window.words.some((word) => Math.abs(word.seconds - 1) < 0.01)")
    assert seen.site.t >= due + 18
    assert seen.site.clips_asked == ["a", "b", "c"]


def test_speech_can_be_switched_off_and_stays_off(visit: Open) -> None:
    seen = armed(visit, {"a": words(1.0)}, at=100)
    seen.page.get_by_role("button", name="Menu").click()
    seen.page.get_by_role("button", name="Speech: on").click()
    expect(seen.page.get_by_role("button", name="Speech: off")).to_be_visible()
    seen.page.keyboard.press("Escape")
    seen.site.plan_calls(entry("left", "flip", seen.site.t + 60, "a"))
    seen.site.call("flip", ["left"], "Left: flip now", priority=2, clip="a")
    seen.until("window.heardCalls.some((c) => c.call === 'flip' && c.audible)")
    pass_time(seen.page, 2000)
    assert seen.page.evaluate("window.words.length") == 0
    assert seen.site.clips_asked == []
    seen.page.reload()
    seen.page.get_by_role("button", name="Menu").click()
    seen.page.get_by_role("button", name="Speech: off").click()
    seen.page.keyboard.press("Escape")
    seen.arm()
    seen.site.call("turn", ["left"], "Left: turn now", priority=2, clip="a")
    assert len(said(seen)) == 1


def test_switching_speech_off_ends_the_words_under_way(visit: Open) -> None:
    seen = armed(visit, {"a": words(8.0)}, at=100)
    seen.page.get_by_role("button", name="Menu").click()
    seen.site.call("flip", ["left"], "Left: flip now", priority=2, clip="a")
    said(seen)
    seen.page.get_by_role("button", name="Speech: on").click()
    [word] = said(seen)
    assert word["stopped"] is not None


def test_a_clip_that_fails_never_stops_a_tone(visit: Open) -> None:
    seen = armed(visit, {"noise": b"RIFF, but no sound"}, at=100)
    for steak, clip in (("left", "missing"), ("right", "noise"), ("left", None)):
        kind = "flip" if clip else "rest_done"
        made = seen.site.call(kind, [steak], f"{kind} {steak}", priority=2, clip=clip)
        seen.until(f"window.heardCalls.some((c) => c.id === '{made['id']}' && c.audible)")
        pass_time(seen.page, 1600)
        becomes(seen.page, lambda: seen.site.receipts[-1]["call"], made["id"])
    assert len(tone_starts(seen)) == 3 * 3
    assert seen.page.evaluate("window.words.length") == 0
    # The same clip is asked for again with the next call, and said once it can be had.
    seen.site.clips["missing"] = words(1.0)
    seen.site.call("turn", ["left"], "Left: turn now", priority=2, clip="missing")
    assert len(said(seen)) == 1


def test_an_urgent_call_cuts_into_words(visit: Open) -> None:
    seen = armed(visit, {"long": words(6.0), "a": words(0.5)}, at=460)
    seen.site.call("window", [], "Turn-in closes in 5 min", priority=2, clip="long")
    [lesser] = said(seen)
    seen.until("window.toneStarts.length === 3")
    seen.site.call("pull_soon", ["left"], "Left: pull in about 40", in_s=40, clip="a")
    lesser, urgent = said(seen, 2)
    first = tone_starts(seen)[3]
    assert lesser["stopped"] is not None
    assert lesser["stopped"] == pytest.approx(first, abs=0.1)
    assert first < lesser["at"] + lesser["seconds"]
    assert urgent["at"] >= first + TONE_S[1]


def test_an_urgent_call_does_not_wait_for_the_words_of_another(visit: Open) -> None:
    seen = armed(visit, {"long": words(6.0), "a": words(0.5)}, at=460)
    seen.site.call("pull_soon", ["left"], "Left: pull in about 40", in_s=40, clip="long")
    said(seen)
    pass_time(seen.page, 1500)
    seen.site.call("pull_soon", ["right"], "Right: pull in about 40", in_s=40, clip="a")
    before, after = said(seen, 2)
    assert before["stopped"] is not None
    first = tone_starts(seen)[5]
    assert first < before["at"] + before["seconds"]
    assert after["at"] >= first + TONE_S[1]


def test_a_lesser_call_waits_for_the_words_before_it(visit: Open) -> None:
    seen = armed(visit, {"long": words(3.0), "a": words(0.5)}, at=460)
    seen.site.call("pull_soon", ["left"], "Left: pull in about 40", in_s=40, clip="long")
    said(seen)
    seen.site.call("flip", ["right"], "Right: flip now", priority=2, clip="a")
    before, after = said(seen, 2)
    assert before["stopped"] is None
    assert tone_starts(seen)[5] >= before["at"] + before["seconds"]
    assert after["at"] > tone_starts(seen)[5]


def test_an_unanswered_alarm_says_its_words_again_if_they_fit_between(visit: Open) -> None:
    seen = armed(visit, {"a": words(1.0)}, False, at=460)
    seen.site.plan_calls(entry("left", "pull_now", seen.site.t + 60, "a", 1))
    asked(seen, "a")
    seen.site.call("pull_now", ["left"], "Left: pull now", clip="a")
    first, second = said(seen, 2)[:2]
    assert first["stopped"] is None
    starts = tone_starts(seen)
    # Each tone has its words.
    assert first["at"] == pytest.approx(starts[0] + TONE_S[1] + BREATH_S, abs=0.01)
    assert second["at"] == pytest.approx(starts[5] + TONE_S[1] + BREATH_S, abs=0.01)


def test_words_too_long_to_come_again_leave_the_repeated_tone_alone(visit: Open) -> None:
    seen = armed(visit, {"a": words(5.0)}, False, at=460)
    seen.site.plan_calls(entry("left", "pull_now", seen.site.t + 60, "a", 1))
    asked(seen, "a")
    seen.site.call("pull_now", ["left"], "Left: pull now", clip="a")
    said(seen)
    seen.until("window.toneStarts.length >= 15")
    [word] = said(seen)
    starts = tone_starts(seen)
    assert word["stopped"] == pytest.approx(starts[5], abs=0.1)


def test_an_answer_ends_the_words(visit: Open) -> None:
    seen = armed(visit, {"a": words(4.0)}, at=460)
    seen.site.call("pull_now", ["left"], "Left: pull now", clip="a")
    said(seen)
    seen.page.get_by_role("button", name="Got it").click()
    seen.until("window.words[0].stopped !== null")
    [word] = said(seen)
    assert word["stopped"] < word["at"] + word["seconds"]


def test_a_phone_that_was_not_armed_asks_for_no_words(visit: Open) -> None:
    seen = visit(at=100)
    seen.site.clips = {"a": words(1.0)}
    seen.site.plan_calls(entry("left", "flip", seen.site.t + 60, "a"))
    seen.site.call("turn", ["left"], "Left: turn now", priority=2, clip="a")
    seen.until("window.heardCalls.some((c) => c.call === 'turn')")
    pass_time(seen.page, 1000)
    assert seen.site.clips_asked == []
    seen.arm()
    asked(seen, "a")


def test_the_arming_tap_begins_a_loop_of_silence(visit: Open) -> None:
    seen = visit(at=100)
    assert seen.page.evaluate("window.media.length") == 0
    seen.arm()
    seen.until("window.media.length > 0 && window.media[0].currentTime > 0")
    assert seen.page.evaluate("window.media[0].loop && !window.media[0].paused")
    seen.until("window.media[0].played.length > 0")
    assert seen.complaints == []


def rendered(text: str) -> bytes:
    """The words as the site renders them; the browser's loop has this thread."""

    async def render() -> bytes:
        samples = await Speech("en").words([text])
        assert samples is not None
        return to_wav(samples)

    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, render()).result()


def test_the_sites_own_voice_is_heard_on_the_page(visit: Open) -> None:
    require_tool("espeak-ng", "espeak-ng")
    clip = rendered("Left: pull in about 40")
    seen = armed(visit, {"a": clip}, at=460)
    seen.site.call("pull_soon", ["left"], "Left: pull in about 40", in_s=40, clip="a")
    [word] = said(seen)
    assert word["seconds"] == pytest.approx(seconds_of(from_wav(clip)), abs=0.01)
    assert 0.1 < word["peak"] <= 1.0

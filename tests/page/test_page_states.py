"""What the page shows in its rarer states: one steak, spots only, a wide forecast, an end."""

from __future__ import annotations

import itertools
import re
from typing import Any

import pytest
from playwright.sync_api import Locator, expect

from tests.page.patience import holds, pass_time
from tests.page.visit import PHONE, Open, Visit

pytestmark = pytest.mark.integration

SMALL = (320, 568)
LYING = (844, 390)
TINY = (568, 320)
SPINE_BOXES = """(() => {
  const box = (node) => node.getBoundingClientRect().toJSON();
  const all = (kind) => [...document.querySelectorAll(`.spine .${kind}`)].map(box);
  return [box(document.querySelector(".spine")).top, all("flag"), all("scale")];
})()"""
#: Read all at one moment: a curve is drawn anew each second.
WORD_BOXES = """[...document.querySelectorAll(".lane0 .markword")].map((node) => {
  const { left, top, right, bottom } = node.getBoundingClientRect();
  return [left, top, right, bottom];
})"""
OPEN = (
    "Anyone on this network can watch and mark: the page is open beyond this machine "
    "and nothing is paired yet."
)


def _box(node: Locator) -> tuple[float, float, float, float]:
    box = node.bounding_box()
    assert box, "not painted"
    return box["x"], box["y"], box["x"] + box["width"], box["y"] + box["height"]


def _overlap(one: Locator, other: Locator) -> bool:
    return _touch(_box(one), _box(other))


def _touch(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    left, top, right, bottom = one
    x, y, to_x, to_y = other
    return left < to_x and x < right and top < to_y and y < bottom


def test_one_steak_has_full_width_keys_and_none_for_both(visit: Open) -> None:
    seen = visit(at=80, names=("left",))
    seen.arm()
    expect(seen.slot()).to_contain_text("Left: quarter-turn in")
    expect(seen.page.locator("#foot .both")).to_be_hidden()
    left, _, right, _ = _box(seen.lane("Left").locator("button.go"))
    assert left <= 6
    assert right >= PHONE[0] - 6
    assert seen.complaints == []


def test_spots_are_dots_on_the_curve_and_end_its_note(visit: Open) -> None:
    seen = visit(at=60, probed=False, why="rising too slowly to reach the pull temperature")
    left = seen.lane("Left")
    expect(left.locator(".curve .note")).to_have_count(2)
    note, pull = left.locator(".curve .note").all()[::-1]
    expect(note).to_have_text("No readings yet")

    def they_keep_apart() -> None:
        assert not _overlap(note, pull)
        assert not _overlap(note, left.locator(".pullline").first)

    holds(seen.page, they_keep_apart)
    # The reason says it already; the line beside the temperature does not repeat it.
    expect(left.locator(".why")).to_have_text("Rising too slowly to reach the pull temperature")
    expect(left.locator(".rise")).to_have_text("")
    for t, celsius in ((50, 20.0), (55, 24.0)):
        seen.site.spot({"id": f"s{t}", "t": t, "steak": "left", "celsius": celsius})
    expect(left.locator(".spotdot")).to_have_count(2)
    expect(left.locator(".curve .note")).to_have_count(1)
    first, second = left.locator(".spotdot").all()

    def they_stand_as_they_came() -> None:
        assert _box(second)[0] > _box(first)[0]
        assert _box(second)[1] < _box(first)[1]

    holds(seen.page, they_stand_as_they_came)


def test_a_note_that_there_are_no_readings_keeps_off_the_pull_at_the_top(visit: Open) -> None:
    # A forecast from 13.7 C to a peak of 57.4 C puts the pull line near the top.
    seen = visit(at=60, probed=False)
    left = seen.lane("Left")
    note = left.locator(".curve .note", has_text="No readings yet")
    expect(note).to_be_visible()

    def they_keep_apart() -> None:
        for other in left.locator(".curve .note").all():
            if other.inner_html() != "No readings yet":
                assert not _overlap(note, other), other.inner_html()
        assert not _overlap(note, left.locator(".pullline").first)

    holds(seen.page, they_keep_apart)


def test_a_spot_that_cannot_be_flattens_no_curve_and_is_named_at_the_edge(visit: Open) -> None:
    seen = visit(at=300)
    left = seen.lane("Left")
    line = left.locator(".pullline").first
    pass_time(seen.page, 1500)  # drawn once more, as large as it is by then
    before = _box(line)[1]
    # 93 C is 199 F, 34 C above the latest peak; 20 C is where the core was after two minutes.
    for t, celsius in ((126, 20.0), (260, 93.0)):
        seen.site.spot({"id": f"s{t}", "t": t, "steak": "left", "celsius": celsius})
    expect(left.locator(".spotdot")).to_have_count(2)
    edge = left.locator(".curve .note", has_text="199° ↑")
    expect(edge).to_be_visible()

    def all_are_inside() -> None:
        assert abs(_box(line)[1] - before) < 20  # a row of words
        inside = _box(left.locator(".curve"))
        for one in (*left.locator(".spotdot").all(), edge):
            x, y, to_x, to_y = _box(one)
            assert inside[0] <= x and to_x <= inside[2] and to_y <= inside[3]
            assert y >= inside[1] - 4  # a word's box has room for accents
        words = [one for one in left.locator(".curve .note").all() if one.inner_html() != "199° ↑"]
        assert len(words) == 2 and not any(_overlap(edge, one) for one in words)

    holds(seen.page, all_are_inside)


def test_words_of_marks_on_the_curve_never_touch(visit: Open) -> None:
    seen = visit(at=400)
    for mark, ago in (("turn", 390), ("flip", 386), ("turn", 200), ("off", 10)):
        seen.site.take(mark, "left", ago)
    words = seen.lane("Left").locator(".markword")
    expect(words.last).to_have_text("off")
    expect(seen.lane("Left").locator(".markline")).to_have_count(5)

    def they_keep_apart() -> None:
        assert words.first.inner_html() == "on"
        boxes = seen.page.evaluate(WORD_BOXES)
        assert len(boxes) >= 3
        assert not any(_touch(*pair) for pair in itertools.combinations(boxes, 2))

    holds(seen.page, they_keep_apart)


def _resting(seen: Visit) -> None:
    for mark, ago in (("turn", 280), ("flip", 160), ("off", 20)):
        seen.site.take(mark, None, ago)
    expect(seen.lane("Left").locator(".phase")).to_have_text("resting")


@pytest.mark.parametrize("size", [PHONE, SMALL, LYING, TINY])
@pytest.mark.parametrize("state", ["waiting", "cooking", "resting", "alarm", "lost"])
def test_pull_and_notice_are_whole_in_every_state(
    visit: Open, size: tuple[int, int], state: str
) -> None:
    script: dict[str, dict[str, Any]] = {
        "waiting": {"cooking": False, "mode": "demo", "speed": 6},
        "cooking": {"at": 105, "mode": "demo", "banner": OPEN},
        "resting": {"at": 400, "mode": "demo", "banner": OPEN},
        "alarm": {"at": 300},
        "lost": {"at": 200},
    }
    seen = visit(size, **script[state])
    if state == "resting":
        _resting(seen)
    if state == "alarm":
        seen.site.call("over", ["left"], "Left: 4 °F over, pull now")
        expect(seen.lane("Left").locator(".flagged")).to_have_text("4 °F over, pull now")
    if state == "lost":
        seen.site.silent = True
        expect(seen.page.locator("#notice")).to_contain_text("Link lost")
    else:
        expect(seen.lane("Left").locator(".aim")).to_have_text("Pull 129 °F, target 135")
    if state != "alarm":
        expect(seen.page.locator("#notice")).to_be_visible()

    def all_is_whole() -> None:
        for part in ("#notice", ".lane .face", "#slot", "html"):
            for one in seen.page.locator(part).all():
                assert one.evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1, part
        for lane in seen.page.locator(".lane").all():
            assert _box(lane.locator(".aim"))[3] <= _box(lane.locator(".face"))[3] + 0.5
            assert _box(lane.locator(".face"))[3] <= _box(lane.locator(".keys"))[1] + 0.5
            for part in (".spread", ".pull"):
                one = lane.locator(part)
                if one.is_visible():
                    assert _box(one)[2] <= _box(lane)[2]
                    assert _box(one)[3] <= _box(lane.locator(".time"))[3] + 0.5

    holds(seen.page, all_is_whole)


@pytest.mark.parametrize("size", [PHONE, SMALL, LYING, TINY])
def test_an_alarm_and_its_answer_stay_inside_the_bar(visit: Open, size: tuple[int, int]) -> None:
    seen = visit(size, at=300)
    seen.site.call("pull_now", ["right"], "Right: pull now, 4 °F over")
    expect(seen.page.get_by_role("alert")).to_be_visible()

    def they_are_inside() -> None:
        _, top, right, bottom = _box(seen.slot())
        _, key_top, key_right, key_bottom = _box(seen.page.get_by_role("button", name="Got it"))
        assert key_top >= top + 2
        assert key_bottom <= bottom - 2
        assert key_right <= right - 2
        assert _box(seen.page.locator("#slot .kind"))[1] >= top + 3

    holds(seen.page, they_are_inside)


def test_a_lost_link_is_not_blamed_on_the_probe(visit: Open) -> None:
    seen = visit(at=80)
    seen.arm()
    seen.site.silent = True
    rise = seen.lane("Left").locator(".rise")
    expect(rise).to_have_text(re.compile(r"^Last heard \d+ s ago$"))
    seen.page.route("**/api/v1/marks", lambda route: route.abort())
    seen.lane("Left").locator("button.go").click()
    expect(seen.slot()).to_contain_text("Left: turn NOT marked: no answer")


def test_a_wide_forecast_is_one_rough_number(visit: Open) -> None:
    # From 8 to 53.9 C at 0.095 C/s is 483 s: 8 minutes at 5 s into the cook.
    seen = visit(at=5, spread=0.8)
    lane = seen.lane("Left")
    expect(lane.locator(".pull")).to_have_text("Pull in about 8 min")
    expect(lane.locator(".spread")).to_be_hidden()
    for mark in ("turn", "flip", "turn"):
        seen.site.take(mark, "left")
    expect(lane.locator(".label")).to_have_text("Pull in about")
    expect(lane.locator(".digits")).to_have_text("8 min")


def test_a_far_forecast_is_only_over_half_an_hour(visit: Open) -> None:
    seen = visit(at=80)
    said = seen.page.evaluate(
        """async () => {
          const { pullWords } = await import("/page/acts.js");
          return [[1700, 1750, 1790], [1700, 1801, 1900]].map(([p10, p50, p90]) =>
            pullWords({ p10, p50, p90 }));
        }"""
    )
    assert said == ["Pull in 29:10", "Pull in over 30 min"]


def test_no_peak_is_shown_before_the_pull_can_be_said(visit: Open) -> None:
    seen = visit(at=20, why="not rising yet")
    expect(seen.lane("Left").locator(".why")).to_have_text("Not rising yet")
    expect(seen.lane("Left").locator(".peak")).to_be_hidden()
    seen.site.why = None
    expect(seen.lane("Left").locator(".peak")).to_contain_text("Peak 135")


def test_a_nearer_lead_stays_on_top_and_the_other_gets_its_turn(visit: Open) -> None:
    seen = visit(at=60, speed=6)
    seen.site.call("pull_soon", ["left"], "Left: pull in about 10", in_s=10)
    alert = seen.page.get_by_role("alert")
    expect(alert).to_contain_text("Left: pull in about 10")
    seen.site.call("pull_soon", ["right"], "Right: pull in about 40", in_s=40)
    seen.until("window.heardCalls.some((c) => c.steaks[0] === 'right')")
    expect(alert).to_contain_text("Left: pull in about 10")
    expect(alert).to_contain_text("Right: pull in about 40")


def test_flags_and_numbers_of_the_spine_keep_apart(visit: Open) -> None:
    seen = visit(at=3)
    flags = seen.page.locator(".spine .flag")
    expect(flags).to_have_count(2)

    def they_keep_apart() -> None:
        # Read all at one moment: the spine is drawn anew while its flags sink.
        top, flag_boxes, numbers = seen.page.evaluate(SPINE_BOXES)
        assert len(flag_boxes) == 2 and numbers
        for flag in flag_boxes:
            assert flag["top"] >= top
            for number in numbers:
                assert number["right"] <= flag["left"] + 1 or number["left"] >= flag["right"] - 1

    holds(seen.page, they_keep_apart)


FULL = (
    "The cook is not being recorded, the calls go on. The cook log /srv/cooks/contest/today.db "
    "cannot be used (database or disk is full): check the disk and its permissions. What is "
    "entered is kept beside the log meanwhile: a crash or a power cut loses nothing."
)


def test_a_core_carried_on_without_readings_is_said_to_be_estimated(visit: Open) -> None:
    seen = visit(SMALL, at=262)
    core, rise = (seen.lane("Left").locator(part) for part in (".core", ".rise"))
    expect(core).to_have_text(re.compile(r"^\d+\.\d °F$"))
    # 8 + 0.095 * 174 = 24.5 C, or 76.2 F, was measured at 174 s of the script.
    with seen.site.turn:
        seen.site.unread = 174.0
        seen.site.more = {"note": "no reading for 88 s: carried on without"}
        seen.site.send_steaks()
    expect(core).to_have_text(re.compile(r"^about 9\d °F, estimated$"))
    expect(rise).to_have_text(re.compile(r"^Probe silent \d+ s, last 76\.\d °F$"))

    def it_is_whole() -> None:
        assert _box(rise)[3] <= _box(seen.lane("Left").locator(".face"))[3]

    holds(seen.page, it_is_whole)
    expect(seen.lane("Left").locator(".why")).to_be_hidden()
    seen.site.unread = None
    expect(core).to_have_text(re.compile(r"^\d+\.\d °F$"))


@pytest.mark.parametrize("size", [SMALL, TINY])
def test_a_long_notice_has_one_line_while_meat_is_on_and_is_read_whole_by_a_tap(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, at=478, mode="demo", speed=6, banner=FULL)
    seen.site.change_cook({"window": "14:00-14:30"})
    seen.site.show_readiness(
        {"name": "recorder", "ok": False, "words": "Not recorded: check the disk", "celsius": None}
    )
    for words in ("The disk is nearly full", "The cook is not being recorded, calls go on"):
        seen.site.call("recorder_trouble", [], words, priority=3)
    seen.site.call("pull_now", ["left"], "Left: pull now")
    lane, notice = seen.lane("Left"), seen.page.locator("#notice")
    expect(lane.locator(".digits")).to_have_text("NOW")
    expect(notice).to_contain_text("The cook is not being recorded")
    # Said once: the alarms and the check that say the same are in the lists.
    expect(seen.page.locator("#lines .others, #lines .unready").first).to_be_hidden()
    expect(seen.page.locator("#lines .unready")).to_be_hidden()

    def all_is_whole() -> None:
        assert _box(notice)[3] - _box(notice)[1] <= 24
        for part in (".digits", ".core"):
            assert _box(lane.locator(part))[3] <= _box(lane.locator(".face"))[3] + 0.5
        assert not _overlap(notice.locator(".mode"), seen.page.locator("#whole span"))

    holds(seen.page, all_is_whole)
    key = seen.page.get_by_role("button", name="Read all notices")

    def the_key_is_large() -> None:
        assert _box(key)[3] - _box(key)[1] >= 72
        assert _box(key)[3] <= _box(lane.locator(".keys"))[1]

    holds(seen.page, the_key_is_large)
    key.click()
    sheet = seen.page.get_by_role("dialog", name="Notices")
    expect(sheet).to_contain_text(FULL)
    expect(sheet).to_contain_text("The disk is nearly full (unanswered)")
    assert seen.complaints == []

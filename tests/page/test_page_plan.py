"""What the page shows round the cook: the plan before, the fire, proposals, the choice after."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.page.patience import becomes, holds, pass_time
from tests.page.scripted import FIRE, PLAN_NOW, UNREADY
from tests.page.visit import PHONE, Open, Visit, marked

pytestmark = pytest.mark.integration

SIZES = [PHONE, (320, 568), (844, 390), (568, 320)]


def _planned(seen: Visit) -> None:
    seen.site.change_cook({"window": "14:00-14:30"})
    seen.site.show("plan", PLAN_NOW)
    seen.site.show("fire", FIRE)
    seen.site.cook_changes.clear()


def _wall(seen: Visit, t: float) -> str:
    """Cook seconds as wall time of this machine's zone, by the browser's own formatting."""
    script = """(t) => new Date(Date.parse("2026-06-13T13:40:00Z") + t * 1000)
      .toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" })"""
    said: str = seen.page.evaluate(script, t)
    return said


def test_before_anything_is_on_the_plan_tells_what_is_next_and_when(visit: Open) -> None:
    seen = visit(cooking=False)
    seen.arm()
    _planned(seen)
    plan = seen.page.get_by_role("region", name="Plan")
    expect(plan).to_contain_text("Chance 92 %, 6 min of slack")
    expect(plan).to_contain_text(f"Turn-in {_wall(seen, 1200)}–{_wall(seen, 3000)}")
    steps = plan.locator("li")
    expect(steps).to_have_count(len(PLAN_NOW["steps"]))
    pour = steps.filter(has_text="Pour the coal")
    expect(pour).to_contain_text(f"{_wall(seen, 60)}–{_wall(seen, 420)}")
    expect(pour).to_contain_text("next, sets the pace")
    expect(steps.filter(has_text="Light the chimney")).to_contain_text("✓")
    expect(plan).to_contain_text(f"left {_wall(seen, 960)}, right {_wall(seen, 985)}")
    expect(plan).to_contain_text(
        "Right pulls about 12 s after left (right between 60 s before and 84 s after left)"
    )
    expect(plan).to_contain_text("two minutes later 84 %")
    expect(seen.slot()).to_contain_text(f"{_wall(seen, 60)} Pour the coal")
    plan.get_by_role("button", name="Pour the coal").click()
    expect(seen.slot()).to_contain_text(marked("Coal poured"))
    assert seen.site.marks[-1]["mark"] == "poured"
    assert seen.site.marks[-1]["steak"] is None
    plan.get_by_role("button", name="Put right on 40 s later").click()
    expect(seen.slot()).to_contain_text("Right goes on 40 s later")
    assert seen.site.cook_changes == [{"offset_s": 40}]
    assert seen.complaints == []


@pytest.mark.parametrize("size", SIZES)
def test_the_window_is_set_with_two_times_and_own_durations(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, cooking=False)
    seen.page.get_by_role("button", name="Set the turn-in window").click()
    beyond = """[...document.querySelectorAll(".sheet *")]
      .filter((e) => e.getBoundingClientRect().right > innerWidth).length"""
    assert seen.page.evaluate(beyond) == 0
    seen.page.get_by_label("Opens").fill("14:00")
    seen.page.get_by_label("Closes").fill("14:30")
    seen.page.get_by_label("Walk to turn-in").fill("soon")
    seen.page.get_by_role("button", name="Save").click()
    expect(seen.page.locator(".refused")).to_contain_text('for example "7-10 min"')
    seen.page.get_by_label("Walk to turn-in").fill("3-5 min")
    seen.page.wait_for_timeout(400)  # two taps at once would count as one
    seen.page.get_by_role("button", name="Save").click()
    expect(seen.page.get_by_role("dialog")).to_have_count(0)
    assert seen.site.cook_changes == [{"window": "14:00-14:30", "durations": {"walk": "3-5 min"}}]
    expect(seen.page.get_by_role("button", name="Window and times")).to_be_visible()


def test_what_is_not_ready_is_listed_before_and_one_line_while_cooking(visit: Open) -> None:
    seen = visit(cooking=False)
    plan = seen.page.get_by_role("region", name="Plan")
    expect(plan.locator(".ready")).to_have_text("✓ Ready")
    seen.site.show_readiness(*UNREADY)
    expect(plan.locator(".notok")).to_have_text(
        "! Nobody would hear a call: tap to hear calls on a phone, or connect a speaker"
    )
    # 285 C is 545 F by the definition F = 1.8 C + 32.
    expect(plan).to_contain_text("✓ Fire: the grate is hot (545 °F)")
    seen.site.take("on", None)
    expect(plan).to_have_count(0)
    expect(seen.page.locator(".unready")).to_contain_text("! Nobody would hear a call")


CLOCK = {"name": "clock", "ok": False, "celsius": None,
         "words": "Clock not set by a network: compare it with yours"}  # fmt: skip


@pytest.mark.parametrize("size", SIZES)
def test_warnings_are_one_line_below_the_next_step_until_the_steaks_are_soon_on(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, cooking=False)
    later = [
        {**one, "begin_t": one["begin_t"] + 3000, "latest_t": one["latest_t"] + 3000}
        for one in PLAN_NOW["steps"]
    ]
    _planned(seen)
    seen.site.show("plan", {**PLAN_NOW, "steps": later})
    seen.site.show_readiness(*UNREADY, CLOCK)
    plan = seen.page.get_by_role("region", name="Plan")
    expect(plan.locator(".notok")).to_have_text(["! 2 things to look atRead"])
    expect(plan.locator(".nextline")).to_contain_text("Pour the coal, sets the pace")
    scroll = plan.locator(".scroll").bounding_box()
    shown = [plan.locator(part).bounding_box() for part in (".nextline", ".notok")]
    assert scroll
    for box in shown[: 1 if size == (568, 320) else 2]:
        assert box and box["y"] + box["height"] <= scroll["y"] + scroll["height"] + 0.5
    if size == PHONE:
        row = plan.locator("li").nth(2).bounding_box()
        assert row and row["y"] + row["height"] <= scroll["y"] + scroll["height"]
    plan.get_by_role("button", name="Read: 2 things").click()
    expect(seen.page.get_by_role("dialog")).to_contain_text("Nobody would hear a call")
    expect(seen.page.get_by_role("dialog")).to_contain_text("compare it with yours")
    seen.page.get_by_role("button", name="Close").click()
    # The first steak goes on 600 s after the start: what would spoil the cook is said whole.
    seen.site.show("plan", PLAN_NOW)
    expect(plan.locator(".notok")).to_contain_text(
        ["! Nobody would hear a call: tap to hear calls", "! 1 thing to look at"]
    )


def test_the_fumes_and_the_hot_metal_are_said_where_the_fire_is_lit(visit: Open) -> None:
    seen = visit(cooking=False)
    _planned(seen)
    caution = seen.page.locator(".plan .caution")
    expect(caution).to_contain_text("carbon monoxide")
    expect(caution).to_contain_text("Hot metal")
    lit = [{**one, "done_t": 5.0} if one["name"] == "pour" else one for one in PLAN_NOW["steps"]]
    seen.site.show("plan", {**PLAN_NOW, "steps": lit})
    expect(seen.page.locator(".nextline")).to_contain_text("Fetch the steaks")
    expect(caution).to_be_hidden()


@pytest.mark.parametrize("size", SIZES)
def test_while_meat_is_on_the_bar_tells_window_chance_and_slack(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, at=300, mode="demo")
    seen.arm()
    _planned(seen)
    line = seen.page.locator("#lines .window")
    one_line = "(e) => e.getBoundingClientRect().height < 24"
    # The window opens at 1200 s: 15 min after 300 s.
    expect(line).to_contain_text("Turn-in opens in 14 min · chance 92 % · slack 6 min")
    assert line.evaluate("(e) => e.scrollWidth - e.clientWidth") <= 0
    assert line.evaluate(one_line)
    seen.site.show("plan", {**PLAN_NOW, "chance": 0.995, "slack_s": 4000})
    expect(line).to_contain_text("slack 1 h 6 min")
    assert line.evaluate(one_line)
    seen.site.show("plan", PLAN_NOW)
    seen.site.call("fire_low", [], "Fire falling, below the floor", priority=3)
    expect(seen.slot()).to_contain_text("Fire falling")

    def all_is_whole() -> None:
        for part in ("html", "main", "#board", ".lane .face", "#slot", "#foot", "#slot .act"):
            for one in seen.page.locator(part).all():
                assert one.evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1, part
        for key in seen.page.get_by_role("button").all():
            box = key.bounding_box()
            assert box and box["width"] >= 72 and box["height"] >= 72, key.inner_text()
            assert box["x"] + box["width"] <= size[0] and box["y"] + box["height"] <= size[1]

    holds(seen.page, all_is_whole)


def test_the_fire_key_tells_the_trend_and_takes_a_spot_of_the_grate(visit: Open) -> None:
    seen = visit(at=100)
    key = seen.page.locator("#foot .fire")
    expect(key).to_contain_text("tap in the grate")
    _planned(seen)
    # 260 C, the floor, is 500 F; 720 s are 12 min.
    expect(key).to_contain_text("Grate 545 °F ↓")
    expect(key).to_contain_text("below 500 in about 12 min")
    key.click()
    expect(seen.page.locator(".spot output")).to_have_text("545 °F")
    seen.page.get_by_role("button", name="more by 50").click()
    seen.page.get_by_role("button", name="Take this spot").click()
    expect(seen.slot()).to_contain_text("Grate: spot 595 °F")
    assert seen.site.spots[0]["steak"] is None
    assert seen.site.spots[0]["celsius"] == pytest.approx((595 - 32) / 1.8)


def test_the_fires_floor_is_set_in_the_phones_unit_and_a_probe_is_given_to_the_grate(
    visit: Open,
) -> None:
    seen = visit(at=100)
    seen.page.get_by_role("button", name="Menu").click()
    seen.page.locator(".sheet").get_by_role("button", name="Fire").click()
    seen.page.get_by_role("button", name="Fire's floor: more by 25").click()
    expect(seen.slot()).to_contain_text("Fire's floor 525 °F")
    assert seen.site.cook_changes[-1]["fire_floor_c"] == pytest.approx((525 - 32) / 1.8)
    seen.page.get_by_role("button", name="Close").click()
    seen.page.get_by_role("button", name="Menu").click()
    seen.page.get_by_role("button", name="Probes").click()
    seen.page.get_by_role("button", name="Probe left is at the grate").click()
    expect(seen.slot()).to_contain_text("Grate: Probe left")
    assert seen.site.cook_changes[-1] == {"grate_channel": "left-probe"}


def _proposal(seen: Visit) -> dict[str, Any]:
    t = seen.site.t
    why = "the reading fell as when a probe is drawn"
    return {"id": "p1", "t": t, "steak": "left", "mark": "off", "happened": t - 20,
            "confirm_t": t + 60, "why": why}  # fmt: skip


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("is_so", [True, False])
def test_a_proposed_mark_is_answered_in_its_lane(
    visit: Open, size: tuple[int, int], is_so: bool
) -> None:
    seen = visit(size, at=470)
    seen.arm()
    seen.site.propose(_proposal(seen))
    lane = seen.lane("Left")
    asked = lane.locator(".asked")
    expect(asked).to_contain_text("Off 2")
    expect(asked).to_contain_text("s ago? Marked in 5")
    expect(asked).to_contain_text("The reading fell")

    def all_is_whole() -> None:
        box = asked.bounding_box()
        assert asked.evaluate("(e) => e.scrollHeight - e.clientHeight") <= 0
        keys = lane.locator(".keys").bounding_box()
        assert box and keys and box["y"] + box["height"] <= keys["y"]
        assert lane.locator(".face").evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1

    holds(seen.page, all_is_whole)
    # A tap that was meant for the key before says nothing.
    seen.page.wait_for_timeout(700)
    answer = lane.get_by_role("button", name=f"Left: Off: {'yes' if is_so else 'no'}")
    expect(answer).to_have_text(f"Off: {'yes' if is_so else 'no'}")
    answer.click()
    expect(asked).to_be_hidden()
    how = "undo in Marks" if is_so else "to mark it, tap More"
    expect(seen.slot()).to_contain_text(how)
    assert seen.site.answers == [{"proposal": "p1", "is_so": is_so}]
    expect(answer).to_be_hidden()
    expect(lane.get_by_role("button", name="more marks")).to_be_visible()


@pytest.mark.parametrize("size", SIZES)
def test_a_spot_stays_one_tap_away_while_a_mark_is_proposed(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, at=300)
    seen.arm()
    seen.site.call("probe_lost", ["left"], "Left: no probe reading, tap in a spot", priority=2)
    seen.site.propose({**_proposal(seen), "mark": "flip"})
    lane = seen.lane("Left")
    expect(lane.get_by_role("button", name="Left: Flip: yes")).to_be_visible()

    def all_is_whole() -> None:
        for part in ("html", "main", "#board", ".lane .face", "#slot"):
            for one in seen.page.locator(part).all():
                assert one.evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1, part
        keys = [one.bounding_box() for one in lane.get_by_role("button").all() if one.is_visible()]
        for box in keys:
            assert box and box["width"] >= 72 and box["height"] >= 72
        spine = seen.page.locator(".spine").bounding_box()
        assert spine
        for box in keys:
            assert box
            is_below = box["y"] >= spine["y"] + spine["height"]
            assert is_below or box["x"] + box["width"] <= spine["x"] + 1

    holds(seen.page, all_is_whole)
    lane.get_by_role("button", name="Left: enter a spot temperature").click()
    expect(seen.page.get_by_role("dialog")).to_have_attribute("aria-label", "Left: spot")
    assert seen.site.answers == []


@pytest.mark.parametrize("state", ["unacknowledged", "acknowledged", "shelved"])
def test_a_called_pull_makes_off_the_next_mark_and_no_turn_is_asked(
    visit: Open, state: str
) -> None:
    seen = visit(at=300)
    seen.arm()
    lane = seen.lane("Left")
    expect(lane.locator("button.go")).to_have_text("Turn")
    seen.site.call("pull_now", ["left"], "Left: pull now", state=state)
    expect(lane.locator("button.go")).to_have_text("Off")
    expect(seen.lane("Right").locator("button.go")).to_have_text("Turn")
    seen.site.propose({**_proposal(seen), "mark": "turn"})
    seen.catch_up()
    pass_time(seen.page)
    expect(lane.locator(".asked")).to_be_hidden()
    expect(lane.locator(".keys")).to_contain_text("SpotMoreOff")
    seen.site.call("over", ["right"], "Right: over, take it off", state=state)
    seen.page.get_by_role("button", name="Off both").click()
    seen.until("document.body.innerText.includes('resting')")
    assert seen.site.marks[-1]["mark"] == "off"
    assert seen.site.marks[-1]["steak"] is None


def test_while_the_pull_is_due_the_big_key_takes_the_off_that_was_seen(visit: Open) -> None:
    seen = visit(at=300)
    seen.arm()
    lane = seen.lane("Left")
    seen.site.call("pull_now", ["left"], "Left: pull now", state="acknowledged")
    seen.site.propose(_proposal(seen))
    expect(lane.locator(".asked")).to_contain_text("Off 2")
    expect(lane.locator(".keys")).to_contain_text("SpotMoreOff")
    lane.locator("button.go").click()
    becomes(seen.page, lambda: seen.site.answers, [{"proposal": "p1", "is_so": True}])
    assert seen.site.marks[-1]["mark"] == "on"
    seen.site.propose(_proposal(seen))
    seen.catch_up()  # a sheet says what was known as it opened
    lane.get_by_role("button", name="more marks").click()
    seen.page.get_by_role("button", name="Off: no").click()
    wanted = {"proposal": "p1", "is_so": False}
    becomes(seen.page, lambda: seen.site.answers[-1], wanted)


def test_what_a_mark_only_begins_runs_until_its_shortest_time_has_passed(visit: Open) -> None:
    seen = visit(cooking=False)
    _planned(seen)
    steps = [
        {**one, "done_t": 0.0, "low_s": 300} if one["name"] == "heat_up" else one
        for one in PLAN_NOW["steps"]
    ]
    seen.site.show("plan", {**PLAN_NOW, "steps": steps})
    row = seen.page.locator(".plansteps li").filter(has_text="Heat the grate")
    expect(row).to_contain_text(f"running until {_wall(seen, 300)}")
    expect(row).not_to_contain_text("done")
    cold = seen.page.locator(".plansteps li").filter(has_text="Keep the steaks cold")
    expect(cold).to_contain_text("done")


def test_once_all_are_off_a_silent_probe_and_the_fire_are_nothing_to_mend(visit: Open) -> None:
    seen = visit(at=300)
    line = seen.page.locator("#lines .unready")
    seen.site.show_readiness(
        {"name": "fire", "ok": False, "words": "Fire: check the grate", "celsius": None},
        {"name": "probe left", "ok": False, "words": "Left: its probe is silent", "celsius": None},
    )
    expect(line).to_have_text("! Fire: check the grate (+1)")
    seen.site.take("off", None)
    expect(line).to_be_hidden()


@pytest.mark.parametrize("size", SIZES)
def test_a_core_that_nothing_measured_is_said_to_be_estimated(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, at=60, probed=False)
    core = seen.lane("Left").locator(".core")

    def it_is_whole() -> None:
        assert core.evaluate("(e) => e.scrollWidth - e.clientWidth") <= 0

    holds(seen.page, it_is_whole)
    # The script's core after 60 s: 8 + 0.095 * 60 = 13.7 C, or 56.7 F, rising 0.17 F a second.
    expect(core).to_have_text(re.compile(r"^about (5[6-9]|6\d) °F, estimated$"))
    seen.lane("Left").get_by_role("button", name="enter a spot").click()
    seen.page.get_by_role("button", name="Take this spot").click()
    expect(core).to_have_text(re.compile(r"^\d+\.\d °F$"))


def test_a_mark_of_the_list_is_dated_back_too(visit: Open) -> None:
    seen = visit(at=140)
    seen.arm()
    taken = seen.site.take("turn", "left")
    seen.page.get_by_role("button", name="Last marks").click()
    seen.page.get_by_role("button", name="Earlier: Left: turn").click()
    _date_back(seen, "−30 s", taken["at"] - 30)
    expect(seen.slot()).to_contain_text(re.compile(r"Left: turn, [3-5]\d s ago"))


def _turns(seen: Visit) -> list[float]:
    """When the turns were, of those that stand."""
    return [one["at"] for one in seen.site.marks if one["mark"] == "turn"]


def _date_back(seen: Visit, key: str, wanted: float) -> None:
    """Tap a key that dates the turn back, and look whether it is as of that moment."""
    before, tapped = _turns(seen), seen.site.t
    seen.page.get_by_role("button", name=key).click()
    becomes(seen.page, lambda: len(_turns(seen)) == 1 and _turns(seen) != before, True)
    underway = seen.site.t - tapped  # the site counts back from when the request comes
    assert wanted - 0.5 <= _turns(seen)[0] <= wanted + 0.5 + underway


def test_a_pull_is_shifted_and_aimed_by_choice_and_the_lane_says_so(visit: Open) -> None:
    seen = visit(at=100)
    aim = seen.lane("Left").locator(".aim")
    seen.lane("Left").get_by_role("button", name="more marks").click()
    seen.page.get_by_role("button", name="Settings").click()
    seen.page.get_by_role("button", name="pull later by choice: more by 1").click()
    expect(seen.slot()).to_contain_text("Left: pull +1 °F later")
    # One degree Fahrenheit is 5/9 of a kelvin.
    assert seen.site.settings["left"]["shift_c"] == pytest.approx(5 / 9)
    expect(aim).to_have_text("Pull 130 °F, target 135, +1 °F by choice")
    seen.page.get_by_role("button", name="By target").click()
    expect(seen.page.get_by_role("button", name="By target")).to_have_attribute(
        "aria-pressed", "true"
    )
    assert seen.site.settings["left"]["pull_by"] == "target"
    expect(aim).to_have_text("Pull 130 °F for 135, +1 °F by choice")


@pytest.mark.parametrize("size", SIZES)
def test_after_the_pulls_the_numbers_say_which_is_nearer_and_leave_the_choice(
    visit: Open, size: tuple[int, int]
) -> None:
    seen = visit(size, at=560)
    seen.arm()
    for mark, ago in (("turn", 280), ("flip", 160), ("off", 90)):
        seen.site.take(mark, None, ago)
    # 57.4 C (135.3 F) is what the script forecasts; 57.2 and 58.0 C are 135.0 and 136.4 F.
    seen.site.settings = {"right": {"target_c": 58.0}}
    seen.site.send_steaks()
    choose = seen.page.get_by_role("region", name="Choose")
    expect(choose).to_contain_text(
        "Left is nearer its target: 135.3 °F for 135.0; right 135.3 for 136.4."
    )
    rested = choose.locator("tr").filter(has_text="Rested")
    expect(rested).to_contain_text(re.compile(r"1:[3-5]\d"))
    choose.get_by_role("button", name="Note left").click()
    seen.page.get_by_label("How it looks").fill("even crust")
    seen.page.get_by_role("button", name="Keep this note").click()
    expect(choose).to_contain_text("even crust")
    assert seen.site.settings["left"]["look"] == "even crust"
    seen.page.get_by_role("button", name="Left: Box left").click()
    expect(seen.page.get_by_role("button", name="Left: Hand in")).to_have_text("Hand in")
    assert seen.site.marks[-1]["mark"] == "boxed"
    assert seen.complaints == []


def test_once_both_rest_it_is_said_how_long_still_and_when_to_box(visit: Open) -> None:
    seen = visit(at=420, more={"peak_in_s": 80.0, "rest_in_s": 340.0})
    seen.arm()
    for mark, ago in (("turn", 280), ("flip", 160), ("off", 20)):
        seen.site.take(mark, None, ago)
    rested = seen.page.get_by_role("region", name="Choose").locator("tr").filter(has_text="Rested")
    expect(rested.locator("td").first).to_have_text(re.compile(r"^0:\d\d, 5:[34]\d more$"))
    expect(seen.slot()).to_contain_text(re.compile(r"Box both in 5:[34]\d"))
    seen.site.more = {"peak_in_s": 0.0, "rest_in_s": 0.0}
    expect(rested.locator("td").first).to_contain_text("done")
    expect(seen.slot()).to_contain_text("Both have rested: box them")


@pytest.mark.parametrize("size", SIZES)
def test_a_mark_tapped_late_is_dated_back_from_its_undo(visit: Open, size: tuple[int, int]) -> None:
    seen = visit(size, at=140)
    seen.arm()
    seen.lane("Left").locator("button.go").click()
    expect(seen.slot()).to_contain_text(marked("Left: turn"))
    first = seen.site.marks[-1]
    seen.page.get_by_role("button", name="Earlier").click()
    expect(seen.page.get_by_role("button", name="−10 s")).to_be_visible()

    def keys_are_whole() -> None:
        for key in seen.slot().get_by_role("button").all():
            box = key.bounding_box()
            assert box and box["width"] >= 72 and box["x"] + box["width"] <= size[0]

    holds(seen.page, keys_are_whole)
    _date_back(seen, "−10 s", first["at"] - 10)
    expect(seen.slot()).to_contain_text(re.compile(r"Left: turn, [1-3]\d s ago"))
    _date_back(seen, "−30 s", first["at"] - 40)
    expect(seen.slot()).to_contain_text(re.compile(r"Left: turn, [4-6]\d s ago"))
    assert seen.complaints == []


def test_an_outlet_that_fails_is_said_and_the_menu_tells_of_all(visit: Open) -> None:
    seen = visit(cooking=False)
    note = "The last call was not taken: no answer within 5 s."
    seen.site.outlets = [
        {"name": "loudspeaker", "kind": "loudspeaker", "state": "ok", "note": ""},
        {"name": "webhook", "kind": "webhook", "state": "failing", "note": note},
        {"name": "broker", "kind": "broker", "state": "failing", "note": "It is not reached."},
    ]
    broker = {"name": "broker", "ok": False, "words": "Boards see nothing", "celsius": None}
    seen.site.show_readiness(broker)
    failing = seen.page.get_by_role("region", name="Plan").locator(".notok")
    expect(failing).to_have_text(["! Boards see nothing", f"! Webhook fails. {note[:-1]}"])
    seen.site.take("on", None)
    expect(seen.page.locator(".unready")).to_have_text("! Boards see nothing (+1)")
    seen.page.get_by_role("button", name="Menu").click()
    expect(seen.page.locator(".ways")).to_contain_text("Loudspeaker works.")
    expect(seen.page.locator(".ways")).to_contain_text(f"Webhook fails. {note}")


def test_a_clock_in_doubt_is_said_of_the_window_with_the_way_to_set_it(visit: Open) -> None:
    seen = visit((320, 568), at=300)
    _planned(seen)
    words = "Clock not set by a network: compare it with yours"
    seen.site.show_readiness({"name": "clock", "ok": False, "words": words, "celsius": None})
    line = seen.page.locator("#lines .window")
    expect(line).to_have_text("Turn-in opens in 14 min, if the clock is right: Menu, Window")
    assert line.evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1
    seen.page.get_by_role("button", name="Read all notices").click()
    seen.page.get_by_role("button", name=f"! {words}").click()
    expect(
        seen.page.get_by_role("button", name="Set the site's clock by this phone")
    ).to_be_visible()

"""A row says what acts next at a site; the rows stand by what needs somebody first."""

from __future__ import annotations

import json

import pytest

from pullcall.bus.examples import EXAMPLES
from tests.board.sites import Sites


@pytest.fixture
def sites() -> Sites:
    return Sites()


def test_it_names_what_is_due_next_in_the_boards_own_seconds(sites: Sites) -> None:
    sites.say("north", "presence")
    sites.say("north", "pulse", {"t": 60.0, "speed": 6.0})
    sites.due("north", 120.0)
    row = sites.row("north")
    assert row["name"] == "North grill"
    assert row["next"]["call"] == "turn"
    assert row["next"]["due_t"] == pytest.approx(sites.now + 10.0)


def test_the_pull_and_the_window_are_in_the_boards_own_seconds(sites: Sites) -> None:
    sites.begin("north")
    sites.say("north", "cook", {"steaks": ["left"], "window_t": [600.0, 2400.0]})
    sites.say("north", "forecast", {"t": 480.0}, lane=1)
    sites.say("north", "reading", lane=1)
    row = sites.row("north")
    assert row["window"] == {"opens_t": 600.0, "closes_t": 2400.0}
    [steak] = row["steaks"]
    assert steak["pull_t"] == {"p10": 511.0, "p50": 520.5, "p90": 532.0}
    assert (steak["steak"], steak["phase"], steak["celsius"]) == ("left", "on", 48.9)
    assert (steak["reading_t"], steak["pull_c"]) == (480.1, 53.9)


def test_a_step_of_the_plan_is_next_where_no_call_is_scheduled(sites: Sites) -> None:
    sites.begin("north", "waiting")
    plan = EXAMPLES["plan"][0]["plan"]
    begins = {"done": 400.0, "light": 700.0, "pour": 900.0}
    steps = [
        {**plan["steps"][0], "name": name, "label": name, "begin_t": t, "latest_t": t + 60.0,
         "asks": True, "done_t": 410.0 if name == "done" else None}
        for name, t in begins.items()
    ]  # fmt: skip
    sites.say("north", "plan", {"plan": {**plan, "steps": steps}})
    row = sites.row("north")
    assert (row["next"]["call"], row["next"]["text"]) == ("plan_step", "light")
    assert row["next"]["due_t"] == 700.0
    sites.due("north", 800.0)
    assert sites.row("north")["next"]["call"] == "turn"


def test_a_call_whose_time_has_passed_stays_until_its_site_takes_it_away(sites: Sites) -> None:
    sites.begin("north")
    sites.due("north", 500.0, "pull_now")
    sites.pass_s(60.0, "north")
    assert sites.row("north")["next"]["due_t"] == 500.0
    sites.say("north", "schedule", {"calls": []})
    assert sites.row("north")["next"] is None


def test_an_alarm_is_as_old_as_when_it_was_first_raised(sites: Sites) -> None:
    sites.begin("north")
    sites.alarm("north", 470.0)
    sites.alarm("north", 480.0)
    assert sites.row("north")["alarm"]["since_t"] == 470.0
    sites.say("north", "calls", {"calls": []})
    assert sites.row("north")["alarm"] is None


def test_an_alarm_that_was_answered_is_shown_after_one_that_was_not(sites: Sites) -> None:
    sites.begin("north")
    one = {**EXAMPLES["call"][0], "call": "pull_now", "id": "1", "t": 470.0}
    other = {**one, "id": "2", "call": "fire_low", "priority": 2}
    sites.say("north", "calls", {"calls": [{**one, "state": "acknowledged"}, other]})
    assert sites.row("north")["alarm"]["call"] == "fire_low"
    sites.say("north", "calls", {"calls": [{**one, "state": "acknowledged"}]})
    assert sites.row("north")["alarm"]["state"] == "acknowledged"


def test_a_board_that_starts_knows_from_the_site_since_when_an_alarm_lives(sites: Sites) -> None:
    sites.begin("north")
    alarm = {**EXAMPLES["call"][0], "call": "pull_now", "id": "1", "t": 475.0, "since_t": 400.0}
    sites.say("north", "calls", {"calls": [{**alarm, "state": "unacknowledged"}]}, kept=True)
    assert sites.row("north")["alarm"]["since_t"] == 400.0


def test_that_nobody_hears_a_site_does_not_hide_a_pull_from_who_reads_its_row(sites: Sites) -> None:
    sites.begin("north")
    one = {**EXAMPLES["call"][0], "priority": 1, "state": "unacknowledged"}
    told = [("unheard", 100.0), ("pull_now", 300.0), ("over", 400.0)]
    calls = [{**one, "call": call, "id": call, "t": t, "since_t": t} for call, t in told]
    sites.say("north", "calls", {"calls": calls})
    assert sites.row("north")["alarm"]["call"] == "over"
    sites.say("north", "calls", {"calls": calls[:2]})
    assert sites.row("north")["alarm"]["call"] == "pull_now"


def test_a_planned_call_is_no_alarm(sites: Sites) -> None:
    sites.begin("north")
    sites.say("north", "calls")
    assert sites.row("north")["alarm"] is None


@pytest.mark.parametrize("state", ["silent", "lost", "gone"])
def test_a_site_that_is_not_heard_with_something_on_is_an_alarm(sites: Sites, state: str) -> None:
    sites.begin("north")
    sites.begin("south", "resting")
    if state != "silent":
        sites.say("north", "presence", {"state": state})
    sites.pass_s(6.0, "north")
    row = sites.row("north")
    assert (row["state"], row["alarm"]["call"]) == (state, state)
    assert (row["alarm"]["priority"], row["alarm"]["steaks"]) == (2, ["left"])
    assert row["alarm"]["text"]
    assert sites.order()[0] == "north"
    sites.pass_s(2 * 3600.0)
    assert sites.row("north")["alarm"] is None, "it is heard again"


def test_a_site_that_was_stopped_with_something_on_is_told_by_the_board_alone(
    sites: Sites,
) -> None:
    """A machine that is started anew says goodbye, too; its own calls sound nowhere meanwhile."""
    sites.begin("north")
    sites.alarm("north", 470.0)
    sites.say("north", "presence", {"state": "gone"})
    assert sites.row("north")["alarm"]["call"] == "gone"
    sites.pass_s(7300.0, "north")
    assert sites.row("north")["alarm"] is None, "nobody marked it off"
    sites.begin("south", "handed_in")
    assert sites.order() == ["south", "north"]


def test_the_alarm_of_a_silent_site_is_urgent_once_its_pull_is_near(sites: Sites) -> None:
    sites.begin("north")
    pull = {"p10": 160.0, "p50": 180.0, "p90": 200.0}
    sites.say("north", "forecast", {"t": 480.0, "pull_in_s": pull}, lane=1)
    sites.pass_s(10.0, "north")
    assert sites.row("north")["alarm"]["priority"] == 2
    sites.pass_s(60.0, "north")
    assert sites.row("north")["alarm"]["priority"] == 1
    sites.pass_s(600.0, "north")
    assert sites.row("north")["alarm"]["priority"] == 1, "it was, and nobody knows"


def test_a_silent_site_with_nothing_on_is_no_alarm(sites: Sites) -> None:
    for phase in ("waiting", "resting", "boxed", "handed_in"):
        sites.begin(phase.replace("_", "-"), phase)
    sites.pass_s(60.0, *sites.order())
    assert [row["alarm"] for row in sites.roster.rows(sites.now)] == [None] * 4


def test_what_the_broker_kept_does_not_count_as_being_heard(sites: Sites) -> None:
    sites.begin("north", kept=True)
    assert sites.row("north")["heard_t"] is None
    assert sites.row("north")["state"] == "here", "it has a moment to speak"
    sites.now += 6.0
    assert sites.row("north")["state"] == "silent"
    sites.say("north", "pulse", {"t": sites.now})
    assert (sites.row("north")["state"], sites.row("north")["heard_t"]) == ("here", sites.now)


def test_a_site_that_speaks_after_it_was_lost_is_here(sites: Sites) -> None:
    sites.begin("north")
    sites.say("north", "presence", {"state": "lost"})
    assert sites.row("north")["state"] == "lost"
    sites.say("north", "pulse", {"t": sites.now})
    assert sites.row("north")["state"] == "here"


@pytest.mark.parametrize(
    ("phases", "stage"),
    [
        (("waiting", "waiting"), "waiting"),
        (("on", "waiting"), "cooking"),
        (("resting", "waiting"), "cooking"),
        (("resting", "on"), "cooking"),
        (("resting", "boxed"), "resting"),
        (("handed_in", "boxed"), "resting"),
        (("handed_in", "handed_in"), "over"),
    ],
)
def test_the_stage_is_that_of_both_steaks(
    sites: Sites, phases: tuple[str, str], stage: str
) -> None:
    sites.say("north", "cook")
    for lane, (steak, phase) in enumerate(zip(("left", "right"), phases, strict=True), 1):
        sites.say("north", "steak", {"steak": steak, "phase": phase}, lane=lane)
    assert sites.row("north")["stage"] == stage


def test_the_order_is_alarms_then_due_then_on_waiting_over_and_gone(sites: Sites) -> None:
    for site in ("a-gone", "b-over", "c-waits", "d-on", "e-late", "f-soon", "g-old", "h-urgent"):
        sites.begin(site)
    sites.say("a-gone", "steak", {"phase": "boxed"}, lane=1)
    sites.say("a-gone", "presence", {"state": "gone"})
    sites.say("b-over", "steak", {"phase": "handed_in"}, lane=1)
    sites.say("c-waits", "steak", {"phase": "waiting"}, lane=1)
    sites.due("e-late", 600.0)
    sites.due("f-soon", 500.0)
    sites.alarm("g-old", 300.0, priority=2)
    sites.alarm("h-urgent", 400.0, priority=1)
    assert sites.order() == [
        "h-urgent", "g-old", "f-soon", "e-late", "d-on", "c-waits", "b-over", "a-gone",
    ]  # fmt: skip


def test_of_two_alarms_alike_the_older_one_is_first(sites: Sites) -> None:
    for site, t in (("a", 400.0), ("b", 300.0)):
        sites.begin(site)
        sites.alarm(site, t)
    assert sites.order() == ["b", "a"]


def test_an_alarm_that_was_answered_does_not_stand_first(sites: Sites) -> None:
    for site in ("a", "b"):
        sites.begin(site)
    sites.due("a", 500.0)
    sites.alarm("b", 300.0, state="acknowledged")
    assert sites.order() == ["a", "b"]


def test_a_prompt_does_not_go_before_a_pull_that_is_due(sites: Sites) -> None:
    for site in ("a", "b"):
        sites.begin(site)
    sites.alarm("a", 300.0, priority=3)
    sites.due("b", 500.0)
    assert sites.order() == ["b", "a"]


def test_a_step_hours_ahead_does_not_go_before_what_is_on(sites: Sites) -> None:
    sites.begin("a", "waiting")
    sites.begin("b", "on")
    sites.due("a", 9000.0)
    assert sites.order() == ["b", "a"]


def test_moments_that_tremble_swap_no_rows(sites: Sites) -> None:
    for site in ("a", "b"):
        sites.begin(site)
    orders = set()
    for k in range(40):
        sites.due("a", 600.0 + k % 2 * 2.0)
        sites.due("b", 601.0 - k % 3)
        orders.add(tuple(sites.order()))
    assert len(orders) == 1
    sites.due("a", 640.0)
    assert sites.order() == ["b", "a"]
    sites.due("a", 560.0)
    assert sites.order() == ["a", "b"]


def test_a_row_is_json(sites: Sites) -> None:
    sites.begin("north")
    sites.alarm("north", 400.0)
    json.dumps(sites.row("north"), allow_nan=False)


def test_a_board_that_falls_behind_says_so_instead_of_showing_what_is_old_as_now(
    sites: Sites,
) -> None:
    sites.begin("north")
    assert sites.row("north")["state"] == "here"
    for second in range(1, 10):  # each pulse comes, but ever later
        sites.now = 480.2 + 2.0 * second
        sites.say("north", "pulse", {"t": 480.2 + second})
    row = sites.row("north")
    assert row["state"] == "silent"
    assert sites.now - row["heard_t"] == pytest.approx(9.0)

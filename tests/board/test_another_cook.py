"""What was of another cook, or is at the broker no more, is shown no more, in whatever order."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from pullcall.board.roster import Roster
from pullcall.bus import channels
from tests.board.published import ZERO, give, kept, plain, until
from tests.board.sites import Sites

Json = dict[str, Any]
#: A cook that begins while the board is away: no probe has sent yet, nothing is due.
_BEGUN: tuple[tuple[str, Json, int | None], ...] = (
    ("pulse", {"t": 3.0}, None),
    ("cook", {"id": "another", "steaks": ["left"], "window": None, "window_t": None}, None),
    ("steak", {"steak": "left", "phase": "waiting", "on_t": None, "off_t": None}, 1),
    ("deeds", {"marks": [], "spots": []}, None),
    ("calls", {"calls": []}, None),
)


def steaks_of(sites: Sites) -> list[Json]:
    return list(snapshot(sites)["steaks"])


def snapshot(sites: Sites) -> Json:
    mirror = sites.roster.site("north")
    assert mirror is not None
    return mirror.snapshot(sites.now)


def cooking() -> Sites:
    """A site in the middle of a cook, all of it heard."""
    sites = Sites()
    sites.roster.follow(sites.now)
    for channel in channels.STATE:
        for lane in (1, 2) if "{lane}" in channel.address else (None,):
            named = lane and channel.name != "reading"
            body = {"steak": ("left", "right")[lane - 1]} if named and lane else {}
            sites.say("north", channel.name, body, lane=lane)
    sites.roster.settle(sites.now)
    assert steaks_of(sites)[0]["reading"] is not None
    return sites


def come_back(sites: Sites) -> None:
    """The board reaches the broker again, and follows every topic."""
    sites.roster.cut_off()
    sites.now += 30.0
    sites.roster.follow(sites.now)


@settings(max_examples=60, deadline=None)
@given(st.permutations(_BEGUN))
def test_a_cook_begun_while_the_board_was_away_has_nothing_of_the_one_before(
    order: list[tuple[str, Json, int | None]],
) -> None:
    sites = cooking()
    come_back(sites)
    for kind, body, lane in order:
        sites.say("north", kind, body, lane=lane, kept=True)
    sites.roster.settle(sites.now)
    shown = snapshot(sites)
    [left] = shown["steaks"]
    assert (left["steak"], left["phase"]) == ("left", "waiting"), "what came before is not lost"
    assert (left["reading"], left["forecast"], left["curve"]) == (None, None, [])
    assert (shown["schedule"], shown["plan"], shown["fire"]) == ([], None, None)
    assert (shown["marks"], shown["calls"], shown["proposals"]) == ([], [], [])
    [steak] = sites.row("north")["steaks"]
    assert (steak["celsius"], steak["pull_c"]) == (None, 53.9), "its target is its own"
    assert steak["pull_t"] is None


@settings(max_examples=30, deadline=None)
@given(st.randoms(use_true_random=False), st.booleans())
def test_after_a_cut_any_order_gives_what_a_new_board_has(random: Any, is_another: bool) -> None:
    publications = list(kept(until(200.0)).values())
    fresh, roster = Roster(), Roster()
    for one in publications:
        give(fresh, one, ZERO + 200.0, is_retained=True)
        payload = json.loads(one.payload)
        if is_another and one.topic.endswith("/cook"):
            payload["id"] = "before"
        old = replace(one, payload=json.dumps(payload).encode(), user=(("epoch", "e0"),))
        give(roster, old, ZERO + 100.0)
    roster.cut_off()
    random.shuffle(publications)
    for one in publications:
        give(roster, one, ZERO + 200.0, is_retained=True)
    shown, told = (one.site("north") for one in (roster, fresh))
    assert shown is not None
    assert told is not None
    assert plain(shown.snapshot(ZERO + 200.0)) == plain(told.snapshot(ZERO + 200.0))


def test_a_cook_that_begins_live_has_nothing_of_the_one_before() -> None:
    sites = cooking()
    sites.say("north", "cook", {"id": "another", "steaks": ["left"]})
    assert steaks_of(sites) == []
    sites.say("north", "steak", {"phase": "waiting"}, lane=1)
    [left] = steaks_of(sites)
    assert (left["reading"], left["forecast"], left["curve"]) == (None, None, [])
    assert snapshot(sites)["calls"] == []


def test_what_is_the_sites_own_stays_with_another_cook() -> None:
    sites = cooking()
    before = snapshot(sites)
    sites.say("north", "cook", {"id": "another"})
    after = snapshot(sites)
    for key in ("probes", "adapter", "readiness", "outlets", "unit", "mode"):
        assert after[key] == before[key], key


def test_what_a_site_said_of_a_new_cook_before_its_settings_came_is_kept() -> None:
    """A broker keeps no order between topics: the number tells that it was said later."""
    sites = cooking()
    sites.say("north", "steak", {"phase": "resting"}, lane=1, seq=900)
    sites.say("north", "steak", {"steak": "right", "phase": "resting"}, lane=2, seq=902)
    sites.say("north", "cook", {"id": "another", "steaks": ["left", "right"]}, seq=901)
    assert [one["steak"] for one in steaks_of(sites)] == ["right"]


def test_what_the_broker_keeps_no_more_is_forgotten_after_a_cut() -> None:
    sites = cooking()
    come_back(sites)
    for kind in ("presence", "pulse", "cook"):
        sites.say("north", kind, kept=True)
    sites.say("north", "steak", {"steak": "left"}, lane=1, kept=True)
    sites.roster.settle(sites.now)
    assert steaks_of(sites)[0]["forecast"] is not None, "it may yet come"
    sites.now += 6.0
    sites.roster.settle(sites.now, {"north"})
    assert steaks_of(sites)[0]["forecast"] is not None, "it has come, and is not taken yet"
    sites.roster.settle(sites.now)
    [left] = steaks_of(sites)
    assert (left["reading"], left["forecast"], left["curve"]) == (None, None, [])
    assert [one["steak"] for one in sites.row("north")["steaks"]] == ["left"]
    sites.say("north", "reading", lane=1, kept=True)
    assert steaks_of(sites)[0]["reading"] is not None, "it was only late"


def test_a_page_is_told_of_what_was_forgotten() -> None:
    sites = cooking()
    mirror = sites.roster.site("north")
    assert mirror is not None
    page = mirror.hub.join()
    come_back(sites)
    sites.say("north", "presence", kept=True)
    sites.now += 6.0
    sites.roster.settle(sites.now)
    assert json.loads(page.queue.get_nowait() or "")["type"] == "snapshot"


def test_a_site_of_which_a_broker_has_nothing_any_more_stays_as_it_was() -> None:
    """A broker that was started anew may have kept nothing: the steaks are on all the same."""
    sites = cooking()
    come_back(sites)
    sites.now += 60.0
    sites.roster.settle(sites.now)
    row = sites.row("north")
    assert row["state"] == "silent"
    assert len(row["steaks"]) == 2


def test_nothing_is_forgotten_while_the_broker_is_away() -> None:
    sites = cooking()
    sites.roster.cut_off()
    sites.say("north", "presence", kept=True)
    sites.roster.cut_off()
    sites.now += 60.0
    sites.roster.settle(sites.now)
    assert len(steaks_of(sites)) == 2

"""A board shows each site as the site's own daemon does, from what it publishes alone."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcall.board.mirror import Mirror
from pullcall.board.roster import Roster
from pullcall.board.stamp import Stamp
from pullcall.bus import channels
from pullcall.bus.examples import EXAMPLES
from tests.board.published import (
    SNAPSHOTS,
    ZERO,
    channel_of,
    give,
    hear,
    kept,
    plain,
    short_moments,
    taken,
    until,
)

Json = dict[str, Any]


def north(roster: Roster) -> Mirror:
    mirror = roster.site("north")
    assert mirror is not None
    return mirror


def test_its_snapshot_is_the_daemons_own_at_every_stage_of_the_cook() -> None:
    roster, phases = Roster(), []
    for moment in short_moments():
        hear(roster, [moment])
        if moment.t in SNAPSHOTS and moment is until(moment.t)[-1]:
            assert plain(north(roster).snapshot(ZERO + moment.t)) == plain(moment.snapshot)
            phases.append({steak["phase"] for steak in moment.snapshot["steaks"]})
    assert phases[0] == {"waiting"}
    assert {"on"} in phases
    assert {"resting"} in phases
    assert phases[-1] == {"handed_in"}


@pytest.mark.parametrize("t", SNAPSHOTS)
def test_a_board_that_starts_has_it_whole_from_what_the_broker_kept(t: float) -> None:
    roster, moments = Roster(), until(t)
    for publication in kept(moments).values():
        give(roster, publication, ZERO + moments[-1].t, is_retained=True)
    shown = plain(north(roster).snapshot(ZERO + moments[-1].t))
    own = plain(moments[-1].snapshot)
    assert own.pop("t") - shown.pop("t") <= 1.0, "as of the last pulse"
    assert without_late_points(shown) == without_late_points(own)


def without_late_points(snapshot: Json) -> Json:
    """The curve is published each fifteen seconds: what came since is one point."""
    for steak in snapshot["steaks"]:
        first = [point for point in steak["curve"] if point[0] <= snapshot_t(snapshot) - 16.0]
        steak["curve"] = first
    return snapshot


def snapshot_t(snapshot: Json) -> float:
    return max((s["reading"]["t"] for s in snapshot["steaks"] if s["reading"]), default=0.0)


@settings(max_examples=30, deadline=None)
@given(st.randoms(use_true_random=False))
def test_any_order_of_what_the_broker_kept_gives_the_same(random: Any) -> None:
    moments = until(200.0)
    publications = list(kept(moments).values())
    snapshots = []
    for _ in range(2):
        roster = Roster()
        for publication in publications:
            give(roster, publication, ZERO + 200.0, is_retained=True)
        snapshots.append(plain(north(roster).snapshot(ZERO + 200.0)))
        random.shuffle(publications)
    assert snapshots[0] == snapshots[1]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_whatever_has_come_so_far_a_page_has_every_key_that_it_needs(data: st.DataObject) -> None:
    moments = until(200.0)
    publications = list(kept(moments).values())
    some = data.draw(st.lists(st.sampled_from(publications), min_size=1, unique_by=id))
    roster = Roster()
    for publication in some:
        give(roster, publication, ZERO, is_retained=True)
    shown, whole = north(roster).snapshot(ZERO), moments[-1].snapshot
    assert whole.keys() <= shown.keys()
    assert shown["cook"].keys() == whole["cook"].keys()
    assert type(shown["t"]) is float
    for steak in shown["steaks"]:
        assert steak.keys() == whole["steaks"][0].keys()
    for key, value in whole.items():
        if isinstance(value, list):
            assert isinstance(shown[key], list), key
    json.dumps(shown, allow_nan=False)


def test_its_pages_get_the_very_messages_that_the_sites_own_pages_get() -> None:
    roster, moments = Roster(), short_moments()
    hear(roster, moments[:1])
    page = north(roster).hub.join()
    got: list[Json] = []
    for moment in moments[1:]:
        hear(roster, [moment])
        got += taken(page)
    own = [line for moment in moments[1:] for line in moment.lines]
    ticks = [line["t"] for line in got if line["type"] == "tick"]
    assert ticks == [float(t) for t in range(1, 401)]
    for kind in ("reading", "forecast", "mark", "call", "schedule"):
        expected = [bare(line) for line in own if line["type"] == kind and is_of_a_steak(line)]
        assert [bare(line) for line in got if line["type"] == kind] == expected, kind
        assert expected, kind
    for kind in ("steak", "plan", "fire"):
        assert changes(kind, got) == changes(kind, own), kind
        assert changes(kind, own), kind
    states = [(line["id"], line["state"]) for line in got if line["type"] == "call_state"]
    assert states == [(s["id"], s["state"]) for s in own if s["type"] == "call_state"]
    assert not [line for line in got if line["type"] == "snapshot"], "nothing was missed"


def bare(line: Json) -> Json:
    return {key: value for key, value in line.items() if key != "seq"}


def changes(kind: str, lines: list[Json]) -> list[Json]:
    """What was told of each steak (or of the one thing), but for what said nothing new."""
    first = short_moments()[0].snapshot
    latest = {s["steak"]: still(s) for s in first["steaks"]}
    latest[None] = {kind: first.get(kind)}
    found: list[Json] = []
    for told in (still(line) for line in lines if line["type"] == kind):
        if latest[told.get("steak")] != told:
            found.append(told)
        latest[told.get("steak")] = told
    return found


def still(line: Json) -> Json:
    """A message, or a steak, without what has messages of its own."""
    moving = ("type", "seq", "reading", "forecast", "curve")
    return {key: value for key, value in line.items() if key not in moving}


def is_of_a_steak(line: Json) -> bool:
    return line["type"] != "reading" or line["steak"] is not None


def test_a_page_that_follows_knows_at_the_end_what_a_new_one_is_told() -> None:
    """The page's own rules (state.js), for what they keep: readings, forecasts, calls, deeds."""
    roster, moments = Roster(), short_moments()
    hear(roster, moments[:1])
    page = north(roster).hub.join()
    known = north(roster).snapshot(ZERO)
    for moment in moments[1:]:
        hear(roster, [moment])
        for line in taken(page):
            follow(known, line)
    told = north(roster).snapshot(ZERO + moments[-1].t)
    for key in ("marks", "spots", "schedule", "plan", "fire", "proposals", "probes", "cook"):
        assert known[key] == told[key], key
    for mine, theirs in zip(known["steaks"], told["steaks"], strict=True):
        for key in ("phase", "on_t", "off_t", "reading", "next"):
            assert mine[key] == theirs[key], key
        assert bare_forecast(mine) == bare_forecast(theirs)


def bare_forecast(steak: Json) -> Json:
    return {k: v for k, v in steak["forecast"].items() if k not in ("type", "seq")}


def follow(known: Json, line: Json) -> None:
    kind = line["type"]
    body = {key: value for key, value in line.items() if key not in ("type", "seq")}
    steaks = {steak["steak"]: steak for steak in known["steaks"]}
    if kind == "reading":
        steaks[line["steak"]]["reading"] = {"t": line["t"], "celsius": line["celsius"]}
    elif kind == "forecast":
        steaks[line["steak"]]["forecast"] = body
    elif kind == "steak":
        steaks[line["steak"]].update(body)
    elif kind in ("mark", "spot"):
        known[f"{kind}s"].append(body)
    elif kind == "undo":
        for deeds in ("marks", "spots"):
            known[deeds] = [deed for deed in known[deeds] if deed["id"] != line["id"]]
    elif kind == "schedule":
        known["schedule"] = line["calls"]
    elif kind in ("plan", "fire", "proposals", "probes", "cook"):
        known[kind] = line[kind]


# One site, message by message -----------------------------------------------------------------


class Board:
    """A roster that hears of one site by hand-made payloads."""

    def __init__(self) -> None:
        self.roster = Roster()
        self.now = 100.0
        self._seq = 0

    def say(self, kind: str, body: Json | None = None, lane: int | None = None, **how: Any) -> None:
        """Publish an example of a channel, changed by ``body``; ``how`` is of the stamp."""
        channel = next(c for c in channels.STATE if c.name == kind)
        self._seq += 1
        seq, epoch = how.get("seq", self._seq), how.get("epoch", "e1")
        payload = json.dumps({**EXAMPLES[kind][0], **(body or {})}).encode()
        stamp = Stamp(epoch, seq, how.get("left_s"))
        topic = channel.topic("north", lane)
        self.roster.take(topic, payload, how.get("kept", False), stamp, self.now)

    def say_all(self, **how: Any) -> None:
        """Every topic of a cook of two steaks."""
        for channel in channels.STATE:
            for lane in (1, 2) if "{lane}" in channel.address else (None,):
                names = ("left", "right")
                body = {"steak": names[lane - 1]} if lane and channel.name != "reading" else {}
                self.say(channel.name, body, lane, **how)

    @property
    def mirror(self) -> Mirror:
        return north(self.roster)

    def snapshot(self) -> Json:
        return self.mirror.snapshot(self.now)


@pytest.fixture
def board() -> Board:
    made = Board()
    made.say_all()
    made.roster.settle(made.now)
    return made


def test_a_message_with_a_lower_number_is_ignored(board: Board) -> None:
    board.say("reading", {"t": 500.0, "celsius": 50.0}, 1, seq=900)
    board.say("reading", {"t": 499.0, "celsius": 49.0}, 1, seq=899)
    assert board.snapshot()["steaks"][0]["reading"]["celsius"] == 50.0


def test_a_new_run_of_the_site_counts_from_one_again(board: Board) -> None:
    board.say("reading", {"t": 500.0, "celsius": 50.0}, 1, seq=900)
    board.say("reading", {"t": 510.0, "celsius": 51.0}, 1, seq=1, epoch="e2")
    board.say("reading", {"t": 501.0, "celsius": 50.1}, 1, seq=901)
    assert board.snapshot()["steaks"][0]["reading"]["celsius"] == 51.0, "e1 is over"


def test_pages_get_a_snapshot_of_a_new_epoch_for_another_cook(board: Board) -> None:
    page, epoch = board.mirror.hub.join(), board.mirror.hub.epoch
    board.say("cook", {"id": "another"})
    board.say("steak", {"steak": "left", "phase": "waiting"}, 1)
    board.roster.settle(board.now)
    [snapshot] = taken(page)
    assert snapshot["type"] == "snapshot"
    assert snapshot["epoch"] == board.mirror.hub.epoch != epoch
    assert snapshot["cook"]["id"] == "another"
    assert snapshot["steaks"][0]["phase"] == "waiting", "what came with it is in it"
    assert snapshot["steaks"][0]["curve"] == [], "the curve was of the other cook"


def test_what_changed_while_the_board_was_away_comes_as_one_snapshot(board: Board) -> None:
    page = board.mirror.hub.join()
    board.say("reading", {"t": 700.0, "celsius": 52.0}, 1, kept=True)
    board.say("calls", {"calls": []}, kept=True)
    board.roster.settle(board.now)
    assert [line["type"] for line in taken(page)] == ["snapshot"]
    board.say_all(kept=True, seq=1)
    board.roster.settle(board.now)
    assert taken(page) == [], "nothing of that is new"


def test_a_curve_with_a_part_that_pages_lack_comes_as_a_snapshot(board: Board) -> None:
    points = [[float(t), 5.0] for t in range(100)]
    board.say("curve", {"points": points}, 1)
    page = board.mirror.hub.join()
    board.say("curve", {"points": points[::2]}, 1)
    board.roster.settle(board.now)
    assert taken(page) == [], "thinned, but with no hole"
    board.say("curve", {"points": [*points, *([float(t), 5.0] for t in range(100, 160))]}, 1)
    board.roster.settle(board.now)
    assert [line["type"] for line in taken(page)] == ["snapshot"]


def test_a_call_that_was_missed_is_shown_and_not_called_out_late(board: Board) -> None:
    board.say("pulse", {"t": 600.0})
    page = board.mirror.hub.join()
    call = {**EXAMPLES["calls"][0]["calls"][0], "id": "old", "t": 500.0}
    board.say("calls", {"calls": [call]})
    board.roster.settle(board.now)
    assert [line["type"] for line in taken(page)] == ["snapshot"]
    fresh = {**call, "id": "fresh", "t": 599.0}
    board.say("calls", {"calls": [call, fresh]})
    [line] = taken(page)
    assert (line["type"], line["id"], line["clip"]) == ("call", "fresh", None)


def test_what_is_taken_back_is_undone(board: Board) -> None:
    page = board.mirror.hub.join()
    gone = EXAMPLES["deeds"][0]["marks"][0]["id"]
    board.say("deeds", {"marks": [], "spots": []})
    lines = taken(page)
    assert {line["type"] for line in lines} == {"undo"}
    assert gone in {line["id"] for line in lines}


def test_a_banner_is_told_and_a_pulse_is_a_tick(board: Board) -> None:
    page = board.mirror.hub.join()
    board.say("pulse", {"banner": "The disk is slow."})
    lines = taken(page)
    assert [line["type"] for line in lines] == ["tick", "banner"]
    assert lines[1]["banner"] == "The disk is slow."


@pytest.mark.parametrize(
    ("channel", "body", "type"),
    [
        ("proposals", {"proposals": []}, "proposals"),
        ("probes", {"probes": []}, "probes"),
        ("around", {"readiness": []}, "site"),
        ("cook", {"offset_s": 77.0}, "cook"),
        ("plan", {"plan": None}, "plan"),
        ("grate", {"fire": None}, "fire"),
        ("schedule", {"calls": []}, "schedule"),
    ],
)
def test_what_changes_is_told_once(board: Board, channel: str, body: Json, type: str) -> None:
    page = board.mirror.hub.join()
    board.say(channel, body)
    board.say(channel, body)
    [line] = taken(page)
    key = next(iter(body))
    told = line["cook"][key] if type == "cook" else line["fire" if type == "fire" else key]
    assert (line["type"], told) == (type, body[key])


@pytest.mark.parametrize(("state", "words"), [("lost", "cut off"), ("gone", "switched off")])
def test_pages_of_a_site_that_went_are_told_so_at_once(
    board: Board, state: str, words: str
) -> None:
    page = board.mirror.hub.join()
    board.say("presence", {"state": state})
    board.roster.settle(board.now)
    snapshot = taken(page)[-1]
    assert snapshot["type"] == "snapshot"
    assert words in snapshot["banner"]
    board.say("presence", {"state": "here"})
    board.roster.settle(board.now)
    assert taken(page)[-1]["banner"] == EXAMPLES["pulse"][0].get("banner")


def test_a_topic_that_is_deleted_is_known_no_more(board: Board) -> None:
    topic = channels.FORECAST.topic("north", 1)
    page = board.mirror.hub.join()
    board.roster.take(topic, b"", False, Stamp("e1", 999), board.now)
    assert board.snapshot()["steaks"][0]["forecast"] is None
    [line] = taken(page)
    assert (line["type"], line["forecast"]) == ("steak", None)


def test_nothing_is_kept_for_pages_while_nobody_looks(board: Board) -> None:
    seq = board.mirror.hub.seq
    for k in range(50):
        board.say("reading", {"t": 500.0 + k}, 1)
    assert board.mirror.hub.seq == seq


def test_a_snapshot_says_how_long_ago_the_site_was_heard(board: Board) -> None:
    board.now += 42.0
    board.say("pulse", {"t": 999.0}, kept=True)
    assert board.snapshot()["heard_s"] == 42.0


def test_every_kind_of_state_is_published_by_a_site_and_mirrored() -> None:
    said = {channel_of(p) for moment in short_moments() for p in moment.publications}
    assert said == {channel.name for channel in channels.STATE}

"""A roster takes whatever a broker hands on: sites that come and go, and nonsense."""

from __future__ import annotations

import json
import logging
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcall.board.roster import MOST_SITES, Roster
from pullcall.board.stamp import Stamp, stamp_of
from pullcall.bus import channels
from pullcall.bus.examples import EXAMPLES
from pullcall.bus.payloads import LARGEST
from pullcall.log.records import to_line
from tests.board.sites import Sites

TOPICS = tuple(
    channel.topic("north", lane)
    for channel in channels.STATE
    for lane in ((1, 2) if "{lane}" in channel.address else (None,))
)
#: JSON of any shape, with figures that are as large as they can be.
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5)
    | st.sampled_from([1e308, -1e308, 5e-324, 10**400, "left", "on", "here"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=6,
)  # fmt: skip


def give(roster: Roster, topic: str, payload: bytes, now: float = 0.0) -> None:
    roster.take(topic, payload, False, Stamp(), now)


@st.composite
def spoilt(draw: st.DrawFn) -> tuple[str, bytes]:
    """A message of a site with parts that are no more what they were."""
    channel = draw(st.sampled_from(channels.STATE))
    body = json.loads(json.dumps(draw(st.sampled_from(EXAMPLES[channel.name]))))
    for _ in range(draw(st.integers(0, 3))):
        spoil(body, draw)
    lane = draw(st.sampled_from((1, 2))) if "{lane}" in channel.address else None
    return channel.topic("north", lane), json.dumps(body).encode()


def spoil(body: Any, draw: st.DrawFn) -> None:
    """Change one value, somewhere."""
    while isinstance(body, dict | list) and body:
        key = draw(st.sampled_from(sorted(body) if isinstance(body, dict) else range(len(body))))
        if not isinstance(body[key], dict | list) or draw(st.booleans()):
            number = st.floats(-1e10, 1e10) | st.sampled_from([-1e7, 1e7, 0.01, 1000, -1e9])
            body[key] = draw(number if isinstance(body[key], float) else JSON)
            return
        body = body[key]


@settings(max_examples=150, deadline=None)
@given(st.lists(spoilt() | st.tuples(st.sampled_from(TOPICS), st.binary(max_size=60)), max_size=25))
def test_whatever_a_site_says_its_page_and_its_row_are_whole(messages: list[Any]) -> None:
    roster = Roster()
    for topic, payload in messages:
        give(roster, topic, payload, 100.0)
        mirror = roster.site("north")
        if mirror is not None:
            mirror.hub.join()
    for now in (100.0, 130.0):
        roster.settle(now)
        for row in roster.rows(now):
            to_line(row).encode()
            to_line(roster.site(row["site"]).snapshot(now)).encode()  # type: ignore[union-attr]
    assert roster.messages == len(messages)


@given(st.text(), st.binary())
def test_any_topic_is_taken(topic: str, payload: bytes) -> None:
    roster = Roster()
    give(roster, topic, payload)
    assert (roster.messages, roster.rows(0.0)) == (1, [])


@given(st.lists(st.tuples(st.text(), st.text())), st.none() | st.integers())
def test_any_user_properties_are_a_stamp(user: list[tuple[str, str]], left_s: int | None) -> None:
    stamp = stamp_of(user, left_s)
    assert stamp.seq is None or stamp.seq >= 0


def test_a_stamp_is_the_epoch_and_the_number() -> None:
    user = [("epoch", "abc"), ("seq", "12"), ("other", "x"), ("seq", "99")]
    assert stamp_of(user, 30) == Stamp("abc", 12, 30)
    assert stamp_of([("seq", "9" * 400)]).seq is None
    assert stamp_of([("seq", "-1")]).seq is None


@pytest.mark.parametrize(
    ("payload", "reason"),
    [
        (b'{"state":"here","name":"' + b"x" * LARGEST + b'"}', "it is too large"),
        (b"[" * 100_000, "it cannot be read"),
        (b'{"state":"there"}', "it cannot be read"),
        (b'{"state":"here","name":"\\ud800"}', "it cannot be read"),
        (b"\xff\xfe", "it cannot be read"),
    ],
)
def test_what_is_refused_is_counted_and_told_once(
    payload: bytes, reason: str, caplog: pytest.LogCaptureFixture
) -> None:
    roster = Roster()
    with caplog.at_level(logging.WARNING):
        for _ in range(3):
            give(roster, "pullcall/1/north/presence", payload)
            give(roster, "pullcall/1/south/presence", payload)
    assert roster.refusals.by_reason == {reason: 6}
    assert roster.refused == 6
    told = [record.getMessage() for record in caplog.records]
    assert told == [
        f"A message of {site!r} (presence) is left out: {reason}." for site in ("north", "south")
    ]
    assert roster.rows(0.0) == []


def test_keys_that_a_board_does_not_know_are_ignored() -> None:
    sites = Sites()
    sites.say("north", "presence", {"mood": "good"})
    assert sites.row("north")["name"] == "North grill"
    assert sites.roster.refused == 0


def test_sites_appear_by_themselves_up_to_a_thousand(caplog: pytest.LogCaptureFixture) -> None:
    sites = Sites()
    with caplog.at_level(logging.WARNING):
        for k in range(MOST_SITES + 5):
            sites.say(f"s{k}", "presence")
    assert len(sites.order()) == MOST_SITES
    assert [r.getMessage() for r in caplog.records] == [
        "A message of '' (site) is left out: more than 1000 sites are not shown."
    ]


def test_a_site_that_left_is_forgotten_after_a_day() -> None:
    sites = Sites()
    sites.begin("north")
    sites.begin("south", "handed_in")
    sites.say("south", "presence", {"state": "gone"})
    sites.pass_s(86_300.0, "south")
    sites.roster.settle(sites.now)
    assert sites.order() == ["north", "south"]
    sites.pass_s(200.0, "south")
    sites.roster.settle(sites.now)
    assert sites.order() == ["north"]
    assert sites.roster.site("south") is None


def test_the_day_counts_from_when_it_left_not_from_when_the_board_began() -> None:
    sites = Sites()
    day = 86_400
    sites.say("old", "presence", {"state": "gone"}, kept=True, left_s=6 * day - 60)
    sites.say("new", "presence", {"state": "gone"}, kept=True, left_s=6 * day + 60)
    sites.roster.settle(sites.now)
    assert sites.order() == ["new"]


def test_a_site_whose_presence_is_deleted_at_the_broker_is_forgotten() -> None:
    sites = Sites()
    sites.begin("north")
    mirror = sites.roster.site("north")
    assert mirror is not None
    page = mirror.hub.join()
    sites.give("pullcall/1/north/presence", b"")
    assert sites.order() == []
    assert page.is_gone


def test_sites_are_counted_by_state() -> None:
    sites = Sites()
    for site in ("a", "b", "c", "d"):
        sites.begin(site)
    sites.say("a", "presence", {"state": "lost"})
    sites.say("b", "presence", {"state": "gone"})
    sites.pass_s(6.0, "a", "b", "c")
    expected = {"here": 1, "silent": 1, "lost": 1, "gone": 1}
    assert sites.roster.sites_by_state(sites.now) == expected

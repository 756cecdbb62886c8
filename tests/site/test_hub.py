"""The hub numbers messages, resumes pages that were away, and never waits for a slow one."""

from __future__ import annotations

import json
from collections import Counter

from pullcall.site.hub import ROUND_S, Hub, Listener


def taken(listener: Listener) -> list[str | None]:
    lines: list[str | None] = []
    while not listener.queue.empty():
        lines.append(listener.queue.get_nowait())
    return lines


def test_every_listener_gets_the_same_numbered_messages() -> None:
    hub = Hub()
    one, two = hub.join(), hub.join()
    hub.publish("reading", {"celsius": 5.0})
    hub.publish("reading", {"celsius": 6.0})
    assert taken(one) == taken(two) != []
    assert hub.seq == 2


def test_a_page_that_was_away_gets_what_it_missed() -> None:
    hub = Hub()
    for k in range(10):
        hub.publish("reading", {"k": k})
    missed = hub.missed(hub.epoch, 7)
    assert missed is not None
    assert [json.loads(line)["seq"] for line in missed] == [8, 9, 10]


def test_a_page_that_missed_nothing_gets_nothing() -> None:
    hub = Hub()
    hub.publish("reading", {})
    assert hub.missed(hub.epoch, 1) == []


def test_only_a_snapshot_helps_after_a_restart_or_a_long_absence() -> None:
    hub = Hub()
    for k in range(5000):
        hub.publish("reading", {"k": k})
    assert hub.missed("another-epoch", 4999) is None
    assert hub.missed(hub.epoch, 10) is None
    assert hub.missed(hub.epoch, 9999) is None
    assert hub.missed(hub.epoch, None) is None


def test_a_new_epoch_never_resumes_the_old_one() -> None:
    hub = Hub()
    hub.publish("reading", {})
    before = hub.epoch
    hub.restart()
    assert hub.missed(before, 1) is None


async def test_what_a_page_does_not_take_is_bounded_and_dropped_and_it_begins_anew() -> None:
    hub = Hub()
    slow = hub.join()
    for k in range(10_000):
        hub.publish("reading", {"k": k})
    assert slow.queue.qsize() == 1
    assert await slow.next() is None
    assert not slow.is_gone
    hub.publish("reading", {"k": 10_000})
    (line,) = await slow.next() or [""]
    assert json.loads(line)["k"] == 10_000


async def test_a_page_that_is_let_go_while_it_is_behind_is_gone() -> None:
    hub = Hub()
    slow = hub.join()
    for k in range(1000):
        hub.publish("reading", {"k": k})
    hub.close()
    assert await slow.next() is None
    assert slow.is_gone


def test_a_whisper_has_no_number_and_is_not_kept() -> None:
    hub = Hub()
    here = hub.join()
    hub.whisper("tick", {"t": 1.0})
    assert taken(here) == ['{"type":"tick","t":1.0}']
    assert hub.missed(hub.epoch, 0) == []


def test_a_snapshot_that_is_published_bears_the_number_of_its_own_message() -> None:
    hub = Hub()
    page = hub.join()
    hub.publish("snapshot", {"seq": hub.seq, "t": 1.0})
    (line,) = taken(page)
    assert line is not None
    assert json.loads(line)["seq"] == hub.seq == 1


def test_whoever_watches_takes_all_that_is_new_at_one_go() -> None:
    hub = Hub()
    hub.publish("reading", {"k": 0})
    follower = hub.follow()
    hub.publish("reading", {"k": 1})
    hub.whisper("tick", {"t": 1.0})
    assert [json.loads(line)["type"] for line in follower.taken() or ()] == ["reading", "tick"]
    assert follower.taken() == []


def test_a_crowd_that_watches_costs_a_message_nothing() -> None:
    """Nothing is kept for each of them: what they take is the very same lines."""
    hub = Hub()
    crowd = [hub.follow() for _ in range(50)]
    hub.publish("reading", {"k": 1})
    (first, *others) = [(follower.taken() or [""])[0] for follower in crowd]
    assert all(line is first for line in others)


def test_whoever_watches_and_falls_too_far_behind_begins_anew() -> None:
    hub = Hub()
    follower = hub.follow()
    for k in range(5000):
        hub.publish("reading", {"k": k})
    assert follower.taken() is None
    assert not follower.is_gone
    hub.publish("reading", {"k": 5000})
    (line,) = follower.taken() or [""]
    assert json.loads(line)["k"] == 5000


def test_whoever_watches_is_let_go_with_all_others_when_a_site_closes() -> None:
    hub = Hub()
    follower = hub.follow()
    hub.close()
    assert follower.taken() is None


def test_the_turns_of_a_crowd_are_spread_over_the_round() -> None:
    """However many there are: of a hundred no more than a few are sent anything at one moment."""
    hub = Hub()
    turns = Counter(int(hub.follow().wait_s / ROUND_S * 20.0) for _ in range(100))
    assert set(turns) == set(range(20))
    assert max(turns.values()) <= 7


def test_a_page_that_left_is_forgotten_whichever_way_it_was_fed() -> None:
    hub = Hub()
    pages = (hub.join(), hub.follow())
    assert hub.count == 2
    for page in pages:
        hub.leave(page)
    assert hub.count == 0

"""The hub numbers messages, resumes pages that were away, and never waits for a slow one."""

from __future__ import annotations

import json

from pullcall.site.hub import Hub, Listener


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


def test_a_page_that_takes_nothing_is_let_go_with_a_bounded_queue() -> None:
    hub = Hub()
    slow = hub.join()
    for k in range(10_000):
        hub.publish("reading", {"k": k})
    assert slow.is_gone
    assert taken(slow) == [None]


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

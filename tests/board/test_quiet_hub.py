"""A hub that nobody listens to costs nothing, and deceives nobody who comes back."""

from __future__ import annotations

from pullcall.board.quiet_hub import QuietHub
from tests.board.published import taken


def test_nothing_is_kept_before_anybody_listens() -> None:
    hub = QuietHub()
    hub.publish("reading", {})
    assert hub.seq == 0
    page = hub.join()
    hub.publish("reading", {})
    assert [line["seq"] for line in taken(page)] == [1]


def test_a_page_that_lost_its_link_for_a_moment_gets_what_it_missed() -> None:
    hub = QuietHub()
    page = hub.join()
    hub.publish("reading", {"k": 1})
    hub.leave(page)
    hub.publish("reading", {"k": 2})
    missed = hub.missed(hub.epoch, 1)
    assert missed is not None
    assert len(missed) == 1


def test_a_page_that_was_away_for_long_begins_from_a_snapshot() -> None:
    hub = QuietHub()
    page = hub.join()
    hub.publish("reading", {})
    hub.leave(page)
    for _ in range(5000):
        hub.publish("reading", {})
    seq = hub.seq
    assert not hub.is_watched
    for since in range(seq):
        assert hub.missed(hub.epoch, since) is None
    hub.join()
    assert hub.missed(hub.epoch, seq) == [], "that of the snapshot just given"

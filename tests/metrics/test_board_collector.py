"""What a scrape of a board tells."""

from __future__ import annotations

from tests.metrics.simulated import board_with_sites


def test_sites_are_counted_by_how_they_are() -> None:
    told = board_with_sites().samples("pullcall_board_sites")
    by_state = {dict(found)["state"]: count for found, count in told.items()}
    assert set(by_state) == {"here", "silent", "lost", "gone"}
    assert sum(by_state.values()) == 1


def test_messages_are_counted_and_those_that_were_refused_besides() -> None:
    exposed = board_with_sites()
    assert exposed.value("pullcall_board_messages_total") == 2
    assert exposed.value("pullcall_board_refused_messages_total") == 1


def test_the_way_to_the_broker_is_in_one_state() -> None:
    told = board_with_sites().samples("pullcall_board_broker")
    states = {dict(found)["pullcall_board_broker"]: value for found, value in told.items()}
    assert states == {"connecting": 1, "ok": 0, "lost": 0}


def test_streams_are_told_by_transport() -> None:
    exposed = board_with_sites()
    for transport in ("websocket", "events"):
        assert exposed.value("pullcall_streams", {"transport": transport}) == 0

"""Streams have places; no phone takes another's."""

from __future__ import annotations

from contextlib import ExitStack

import pytest

from pullcall.access.open_streams import OpenStreams
from pullcall.access.terms import BOUNDS, PLACES, Places

FEW = Places(of_a_phone=3, watchers=4, further=2)


def opened(streams: OpenStreams, stack: ExitStack, id: str, watches: bool = True) -> bool:
    """Open a stream if there is a place, and say whether there was."""
    place = streams.take(id, watches)
    if place is not None:
        stack.enter_context(place)
    return place is not None


def test_a_phone_has_its_own_places_and_gets_them_back() -> None:
    streams = OpenStreams(FEW)
    with ExitStack() as stack:
        tried = [opened(streams, stack, "cook", watches=False) for _ in range(5)]
        assert tried == [True, True, True, False, False]
        assert "cook" in streams
    assert "cook" not in streams
    assert streams.take("cook", watches=False)


def test_a_place_is_taken_when_it_is_asked_for_and_not_when_its_stream_begins() -> None:
    streams = OpenStreams(FEW)
    asked = [streams.take("greedy", watches=True) for _ in range(24)]
    assert [place is not None for place in asked] == [True] * 3 + [False] * 21
    assert streams.take("b", watches=True) is not None
    assert streams.take("b", watches=True) is None  # all further ones are taken
    for place in asked[:3]:
        assert place is not None
        place.close()
        place.close()  # once is enough
    assert streams.take("b", watches=True) is not None


def test_one_phone_takes_no_first_place_of_another() -> None:
    streams = OpenStreams(FEW)
    with ExitStack() as stack:
        assert [opened(streams, stack, "greedy") for _ in range(9)].count(True) == 3
        assert [opened(streams, stack, id) for id in "abcd"] == [True, True, True, False]


def test_further_streams_of_all_watchers_together_are_few() -> None:
    streams = OpenStreams(FEW)
    with ExitStack() as stack:
        assert all(opened(streams, stack, id) for id in "abc")
        assert [opened(streams, stack, id) for id in "abc"] == [True, True, False]
        assert opened(streams, stack, "d")


def test_a_crowd_takes_no_place_of_who_acts() -> None:
    streams = OpenStreams(FEW)
    with ExitStack() as stack:
        for k in range(50):
            opened(streams, stack, f"watcher {k}")
        assert opened(streams, stack, "cook", watches=False)


def test_a_place_is_free_again_when_its_stream_breaks() -> None:
    streams = OpenStreams(Places(of_a_phone=1, watchers=1, further=0))
    place = streams.take("a", watches=True)
    assert place is not None
    with pytest.raises(ConnectionError), place:
        assert streams.take("b", watches=True) is None
        raise ConnectionError
    assert streams.take("b", watches=True) is not None


def test_this_machine_itself_always_has_a_place() -> None:
    streams = OpenStreams(Places(of_a_phone=0, watchers=0, further=0))
    assert all(streams.take(None, watches=False) is not None for _ in range(9))


def test_every_watcher_that_may_be_paired_has_a_first_place() -> None:
    assert PLACES.watchers >= BOUNDS.watchers

"""Streams have places; no phone takes another's."""

from __future__ import annotations

from contextlib import ExitStack

from pullcall.access.open_streams import OpenStreams
from pullcall.access.terms import BOUNDS, PLACES, Places

FEW = Places(of_a_phone=3, watchers=4, further=2)


def opened(streams: OpenStreams, stack: ExitStack, id: str, watches: bool = True) -> bool:
    """Open a stream if there is a place, and say whether there was."""
    if not streams.has_place(id, watches):
        return False
    stack.enter_context(streams.present(id, watches))
    return True


def test_a_phone_has_its_own_places_and_gets_them_back() -> None:
    streams = OpenStreams(FEW)
    with ExitStack() as stack:
        tried = [opened(streams, stack, "cook", watches=False) for _ in range(5)]
        assert tried == [True, True, True, False, False]
        assert "cook" in streams
    assert "cook" not in streams
    assert streams.has_place("cook", watches=False)


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
    try:
        with streams.present("a", watches=True):
            assert not streams.has_place("b", watches=True)
            raise ConnectionError
    except ConnectionError:
        pass
    assert streams.has_place("b", watches=True)


def test_this_machine_itself_always_has_a_place() -> None:
    streams = OpenStreams(Places(of_a_phone=0, watchers=0, further=0))
    with streams.present(None):
        assert streams.has_place(None, watches=False)


def test_every_watcher_that_may_be_paired_has_a_first_place() -> None:
    assert PLACES.watchers >= BOUNDS.watchers

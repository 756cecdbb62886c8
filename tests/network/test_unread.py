"""Whoever takes nothing of what waits for them is let go; whoever is slow is not."""

from __future__ import annotations

import pytest

from pullcall.network.unread import LEAST_BYTES, LOOK_EVERY_S, Unread


class FakeWire:
    """A wire whose buffer a test fills, and empties as a peer takes it."""

    def __init__(self, waits: int = 0) -> None:
        self.waits = waits
        self.taken = 0
        self.is_ended = False

    def take(self, size: int) -> None:
        self.waits -= size
        self.taken += size

    def get_write_buffer_size(self) -> int:
        return self.waits

    def abort(self) -> None:
        self.is_ended = True


def looked(unread: Unread, times: int, *, first: int = 0) -> None:
    for k in range(first, first + times):
        unread.look(k * LOOK_EVERY_S)


def test_a_wire_that_never_takes_anything_is_ended_at_the_third_look() -> None:
    unread, wire = Unread(), FakeWire(100)
    unread.watch(wire)
    ended = []
    for k in range(3):
        looked(unread, 1, first=k)
        ended.append(wire.is_ended)
    assert ended == [False, False, True]
    assert len(unread) == 0


def test_a_wire_for_which_nothing_waits_lives() -> None:
    unread, wire = Unread(), FakeWire()
    unread.watch(wire)
    looked(unread, 100)
    assert not wire.is_ended


def test_a_wire_that_was_empty_in_between_lives() -> None:
    unread, wire = Unread(), FakeWire()
    unread.watch(wire)
    for k in range(100):
        wire.waits = 5000 * (k % 3 > 0)
        wire.taken += 5000 * (k % 3 == 0)
        looked(unread, 1, first=k)
    assert not wire.is_ended


@pytest.mark.parametrize(("step", "is_ended"), [(LEAST_BYTES, False), (LEAST_BYTES - 1, True)])
def test_a_slow_wire_has_to_take_a_little_between_two_looks(step: int, is_ended: bool) -> None:
    unread, wire = Unread(), FakeWire(40 * LEAST_BYTES)
    unread.watch(wire)
    for k in range(30):
        looked(unread, 1, first=k)
        wire.take(step)
    assert wire.is_ended is is_ended


def test_who_reads_on_and_on_lives_though_ever_as_much_waits() -> None:
    """An answer as large as a backup fills the wire up again as it empties."""
    unread, wire = Unread(), FakeWire(60_000)
    unread.watch(wire)
    for k in range(100):
        looked(unread, 1, first=k)
        wire.take(LEAST_BYTES)
        wire.waits = 60_000 + k % 7
    assert not wire.is_ended


def test_a_wire_for_which_ever_more_waits_is_ended() -> None:
    unread, wire = Unread(), FakeWire(1)
    unread.watch(wire)
    for k in range(3):
        looked(unread, 1, first=k)
        wire.waits += 100_000
    assert wire.is_ended


def test_looking_oftener_than_it_is_time_counts_once() -> None:
    unread, wire = Unread(), FakeWire(100)
    unread.watch(wire)
    for k in range(50):
        unread.look(k * LOOK_EVERY_S / 50.0)
    assert not wire.is_ended


def test_a_wire_that_is_gone_is_not_looked_at() -> None:
    unread, wire = Unread(), FakeWire(100)
    unread.watch(wire)
    unread.forget(wire)
    looked(unread, 5)
    assert not wire.is_ended

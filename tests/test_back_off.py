"""Waits before another try."""

from __future__ import annotations

from random import Random

from hypothesis import given
from hypothesis import strategies as st

from pullcall.back_off import BackOff


def test_waits_double_up_to_half_a_minute_and_go_on_for_ever() -> None:
    back_off = BackOff()
    assert [back_off.next() for _ in range(8)] == [1.0, 2.0, 4.0, 8.0, 16.0, 30.0, 30.0, 30.0]
    back_off.reset()
    assert back_off.next() == 1.0


def test_steps_of_ones_own_grow_to_a_cap_and_go_on_for_ever() -> None:
    back_off = BackOff((0.5, 1.0, 2.0, 4.0, 5.0))
    assert [back_off.next() for _ in range(7)] == [0.5, 1.0, 2.0, 4.0, 5.0, 5.0, 5.0]
    back_off.reset()
    assert back_off.next() == 0.5


@given(st.integers())
def test_jitter_stays_within_its_share(seed: int) -> None:
    waits = [BackOff((5.0,), 0.2, Random(seed)).next() for _ in range(3)]
    assert all(4.0 <= wait <= 6.0 for wait in waits)

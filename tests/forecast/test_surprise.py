"""Telling a spike from a probe that was moved."""

from __future__ import annotations

import pytest

from pullcall.forecast.surprise import Surprise, Verdict

FINE, OUT = Verdict(is_outlier=False, has_moved=False), Verdict(is_outlier=True, has_moved=False)
SD = 0.2


def judge(surprise: Surprise, *offs: float) -> list[Verdict]:
    return [surprise.see(float(t), off, SD) for t, off in enumerate(offs)]


def test_what_lies_within_its_noise_is_taken() -> None:
    # Four sd hold all but 6 in 100,000 of normal readings (standard normal table).
    assert judge(Surprise(), 0.0, 0.79, -0.79, 0.5, -0.3) == [FINE] * 5


@pytest.mark.parametrize("off", [12.0, -12.0, 2.0, -2.0])
def test_one_or_two_wild_readings_are_left_out(off: float) -> None:
    surprise = Surprise()
    assert judge(surprise, 0.1, off, 0.0, off, off, 0.1) == [FINE, OUT, FINE, OUT, OUT, FINE]
    assert surprise.moved_t is None


def test_wild_readings_on_both_sides_in_turn_are_no_move() -> None:
    surprise = Surprise()
    assert judge(surprise, *([8.0, -8.0] * 10)) == [OUT] * 20
    assert surprise.moved_t is None


@pytest.mark.parametrize("off", [6.0, -6.0])
def test_wild_readings_on_one_side_in_a_row_are_a_move_of_that_much(off: float) -> None:
    surprise = Surprise()
    verdicts = judge(surprise, 0.0, off, off, off, off)
    moved = verdicts.index(Verdict(is_outlier=False, has_moved=True))
    assert verdicts[1:moved] == [OUT] * (moved - 1)
    # More than two, so that a double spike is none; at one reading a second told within ten.
    assert 3 <= moved <= 10
    assert surprise.moved_t == float(moved)
    assert surprise.moved_by_c == off


def test_a_good_reading_in_between_starts_the_count_again() -> None:
    surprise = Surprise()
    judge(surprise, 6.0, 6.0, 0.0, 6.0, 6.0, 0.0, 6.0, 6.0)
    assert surprise.moved_t is None


def test_an_uncertain_expectation_is_surprised_by_less() -> None:
    assert Surprise().see(0.0, 5.0, 0.2) == OUT
    assert Surprise().see(0.0, 5.0, 2.0) == FINE


def test_after_a_move_it_counts_afresh() -> None:
    surprise = Surprise()
    judge(surprise, 6.0, 6.0, 6.0, 6.0)
    assert surprise.moved_t is not None
    assert surprise.see(10.0, -9.0, SD) == OUT
    assert surprise.moved_by_c == 6.0

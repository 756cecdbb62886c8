"""A loop that stands still is seen while it does, and for some minutes afterwards."""

from __future__ import annotations

from pullcall.metrics.beats import SPAN_S, Beats


def beaten(until: float, began: float = 100.0) -> Beats:
    """A loop that went round each second."""
    beats = Beats(began)
    moment = began
    while moment < until:
        moment += 1.0
        beats.passed(moment)
    return beats


def test_a_loop_that_goes_round_has_no_gap_but_its_pace() -> None:
    beats = beaten(until=110.0)
    assert beats.count == 10
    assert beats.age_s(110.25) == 0.25
    assert beats.longest_gap_s(110.25) == 1.0


def test_a_gap_shows_while_it_lasts() -> None:
    beats = beaten(until=110.0)
    assert beats.longest_gap_s(117.0) == beats.age_s(117.0) == 7.0


def test_a_gap_is_remembered_for_at_least_a_span_and_at_most_two() -> None:
    beats = beaten(until=110.0)
    moment = 117.0  # seven seconds of nothing
    longest = []
    while moment <= 117.0 + 2 * SPAN_S + 1.0:
        beats.passed(moment)
        longest.append((moment - 117.0, beats.longest_gap_s(moment)))
        moment += 1.0
    assert all(gap == 7.0 for since, gap in longest if since <= SPAN_S - 1.0)
    assert longest[-1][1] == 1.0


def test_a_slow_start_is_no_gap_but_an_age() -> None:
    beats = Beats(100.0)
    assert beats.age_s(130.0) == 30.0
    beats.passed(130.0)
    assert beats.longest_gap_s(130.0) == 0.0

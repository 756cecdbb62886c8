"""Values are counted by size, at or below each limit."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from pullcall.metrics.histogram import Histogram


def test_a_value_on_a_limit_lies_at_or_below_it() -> None:
    histogram = Histogram((1.0, 2.0))
    histogram.observe(1.0)
    assert histogram.buckets() == [(1.0, 1), (2.0, 1), (float("inf"), 1)]


def test_a_value_below_zero_counts_as_zero() -> None:
    histogram = Histogram((0.5,))
    histogram.observe(-0.001)
    assert (histogram.total, histogram.buckets()[0]) == (0.0, (0.5, 1))


@given(st.lists(st.floats(0.0, 100.0)))
def test_every_limit_counts_what_lies_at_or_below_it(values: list[float]) -> None:
    histogram = Histogram((0.1, 1.0, 50.0))
    for value in values:
        histogram.observe(value)
    assert histogram.count == len(values)
    for limit, count in histogram.buckets():
        assert count == sum(value <= limit for value in values)

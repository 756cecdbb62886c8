"""Durations are read as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.events import Range
from pullcall.plan.durations import format_range, parse_duration, parse_range


@pytest.mark.parametrize(
    ("text", "low_s", "high_s"),
    [
        ("7-10 min", 420.0, 600.0),
        ("90-120 s", 90.0, 120.0),
        ("7-9min", 420.0, 540.0),
        (" 8.5 – 12 min ", 510.0, 720.0),
        ("30 min", 1800.0, 1800.0),
        ("1-1.5 h", 3600.0, 5400.0),
        ("0 s", 0.0, 0.0),
    ],
)
def test_ranges_are_read(text: str, low_s: float, high_s: float) -> None:
    assert parse_range(text) == Range(low_s, high_s)


@pytest.mark.parametrize(
    "value", ["", "7-10", "7 minutes", "-3 min", "a-b min", 7, None, "7,5 min"]
)
def test_anything_else_is_refused_with_an_example(value: object) -> None:
    with pytest.raises(ValueError, match="7-10 min"):
        parse_range(value)


def test_a_range_the_wrong_way_round_or_too_long_is_refused() -> None:
    with pytest.raises(ValueError, match="shorter time first"):
        parse_range("10-7 min")
    with pytest.raises(ValueError, match="24 h"):
        parse_range("30 h")


def test_one_duration_is_no_range() -> None:
    assert parse_duration("65 s") == 65.0
    for other in ("60-70 s", "soon", 65):
        with pytest.raises(ValueError, match="45 s"):
            parse_duration(other)


@given(st.integers(0, 2000), st.integers(0, 2000))
def test_what_is_written_is_read_back(low: int, more: int) -> None:
    tenths = Range(6.0 * low, 6.0 * (low + more))
    read = parse_range(format_range(tenths))
    assert read.low_s == pytest.approx(tenths.low_s)
    assert read.high_s == pytest.approx(tenths.high_s)

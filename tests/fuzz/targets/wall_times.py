"""Windows, durations, temperatures and channels, as people and queries write them."""

from __future__ import annotations

import math
from argparse import ArgumentTypeError
from collections.abc import Callable
from datetime import UTC, datetime

from pullcall.cli import common
from pullcall.core.channel import is_channel
from pullcall.events import CookHeader, Range, Window
from pullcall.log.starts import in_order
from pullcall.plan.durations import LONGEST_S, format_range, parse_duration, parse_range
from pullcall.plan.wall import (
    LONGEST_WINDOW_S,
    parse_clock,
    parse_window,
    wall_time,
    window_span,
    window_times,
)
from pullcall.settings import parse_temperature
from tests.fuzz.honest import check_words
from tests.fuzz.target import Target

_NOW = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)


def check(data: bytes) -> None:
    """One text for each reader: a value within its bounds, or a sentence."""
    text = data.decode("utf-8", "replace")
    window = _read(lambda: parse_window(text, _NOW))
    if isinstance(window, Window):
        begin, end = window_span(window, _NOW)
        assert 0.0 < end - begin <= LONGEST_WINDOW_S and end > 0.0
        opens, closes = window_times(text)
        again = parse_window(f"{opens:%H:%M}-{closes:%H:%M}", _NOW)
        assert again == window
    _read(lambda: parse_clock(text, _NOW))
    range_ = _read(lambda: parse_range(text))
    if isinstance(range_, Range):
        assert 0.0 <= range_.low_s <= range_.high_s <= LONGEST_S
        once = parse_range(format_range(range_))
        assert parse_range(format_range(once)) == once
    for number in (
        _read(lambda: parse_duration(text)),
        _read(lambda: parse_temperature(text)),
        _read(lambda: common.lasts(text)),
        _read(lambda: common.speed(text)),
    ):
        assert number is None or (isinstance(number, float) and math.isfinite(number))
    is_channel(text)
    opens_, _, closes_ = text.partition("/")
    _read(lambda: window_span(Window(opens_, closes_), _NOW))
    for t in (0.0, 1e9, -1e9, 1e300):
        assert wall_time(CookHeader("c", text), t) is not None
    assert sorted(in_order([(text, 1), ("2026-06-13T13:40:00Z", 2), (text, 3)])) == [1, 2, 3]


def _read(read: Callable[[], object]) -> object:
    try:
        return read()
    except (ValueError, ArgumentTypeError) as error:
        check_words(str(error)[:1900])
        return None


TARGET = Target(
    check,
    (
        b"14:00-14:30",
        " 23:45 – 00:15 ".encode(),
        b"7-10 min",
        b"0.5 h",
        b"2 days",
        b"129 F",
        b"-5.5 c",
        b"9" * 400 + b" F",
        b"AA:BB:CC:DD:EE:01/1",
        b"2026-06-13T14:00:00Z/2026-06-13T14:30:00Z",
        b"0001-01-01T00:00:00+14:00",
        b"9999-12-31T23:59:59-14:00",
        "١٤:٠٠-١٤:٣٠".encode(),
    ),
    (
        b"14:00",
        b"-",
        " – ".encode(),
        b" min",
        b" s",
        b" h",
        b" F",
        b" C",
        b"T14:00:00+02:00",
        b"/1",
    ),
    longest=600,
)

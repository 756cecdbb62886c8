"""What a person says of a table in a query, and its times and numbers."""

from __future__ import annotations

import math
from datetime import UTC, datetime

from pullcall.errors import LogFormatError
from pullcall.log.csv_times import parse_number, parse_time, past_midnight
from pullcall.log.csv_told import told_of
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_words
from tests.fuzz.target import Target


def check(data: bytes) -> None:
    """A line each: columns, a mark, a thickness; each is a time and a number too."""
    cards = Cards(data)
    unit = cards.pick(("F", "C", None))
    lines = [cards.line().decode("utf-8", "replace") for _ in range(3)]
    try:
        told = told_of(lines[0], unit, {"on": [lines[1]], "off": []}, [lines[2]], sign=":")
    except LogFormatError as error:
        check_words(str(error))
    else:
        assert 1 <= len(told.columns.steaks) <= 2
        assert all(5.0 <= mm <= 120.0 for mm in told.thickness_mm.values())
    for text in lines:
        _read(text, bool(data and data[0] & 1))


def _read(text: str, has_comma: bool) -> None:
    try:
        number = parse_number(text, has_comma)
        assert math.isfinite(number)
    except ValueError as error:
        check_words(str(error))
    try:
        time = parse_time(text, has_comma, UTC)
    except ValueError as error:
        check_words(str(error))
        return
    if isinstance(time, datetime):
        assert time.tzinfo is not None
        return
    assert math.isfinite(time)
    later = past_midnight(text, time, 86_399.0)
    assert isinstance(later, float) and later >= time


TARGET = Target(
    check,
    (
        b"\x00time:Time,left:Probe1,right:Probe2\nleft:0:40\nleft:38",
        b"\x01time:T,grate:G,left:a\nleft:2026-06-13\nleft:1e1",
        b"\x02" + b"1" * 1500 + b"x\n" + b"1" * 1500 + b":\n23:59:59,5",
        b"\x00a:b,a:c\n:\n\xe2\x80\xae:1",
    ),
    (b"time:", b"grate:", b"left:", b"12:31", b"1:02:03.5", b"2026-06-13 14:03:05", b"+", b"E"),
    longest=4000,
)

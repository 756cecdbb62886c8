"""Rows of a log that came from elsewhere, checked before anything goes on with them."""

from __future__ import annotations

import json
import math
from datetime import datetime
from typing import Any

from pullcall.errors import LogFormatError
from pullcall.events import CookHeader
from pullcall.learning.choice import Choice, Mode
from pullcall.log.cook_file import parse_cook_lines, time_of
from pullcall.log.fields import is_shallow
from pullcall.plan.wall import window_span

Row = tuple[Any, ...]
#: No lesson's figure (degrees, seconds, times as much) comes near this.
_LARGEST_FIGURE = 1e4


def read_choice(row: Row) -> Choice:
    """A choice from (wall, name, mode, value). Raises ValueError with a sentence."""
    wall, name, mode, value = row
    if value is not None and not abs(value) < _LARGEST_FIGURE:
        raise ValueError(f"the figure {value:g} of {name!r} is out of range")
    try:
        return Choice(wall, name, Mode(mode), value)
    except ValueError:
        known = ", ".join(Mode)
        raise ValueError(f"the mode of {name!r} is one of {known}, not {mode!r}") from None


def check_cook(row: Row) -> None:
    """Raise ValueError for a row of ``cooks`` that no list or no start could go on with."""
    cook, _, line, _, zero, ended = row
    try:
        header = parse_cook_lines([line]).header
    except LogFormatError as exc:
        raise ValueError(f"the cook {cook!r} has no header that can be read") from exc
    if header.cook != cook or not math.isfinite(zero):
        raise ValueError(f"the header of the cook {cook!r} is of another")
    if ended is None:
        _check_moments(header)


def _check_moments(header: CookHeader) -> None:
    """A cook under way is placed on the clock: its times are ISO 8601 with an offset."""
    try:
        started = datetime.fromisoformat(header.started)
        if started.tzinfo is None:
            raise ValueError("it has no offset")
        if header.window is not None:
            window_span(header.window, started)
    except ValueError as exc:
        raise ValueError(f"the times of the cook {header.cook!r} cannot be read ({exc})") from exc


def check_record(row: Row) -> None:
    """Raise ValueError for a row of ``records`` (cook, t, body) that is no record, or has another
    time than its body: a start goes by both."""
    cook, t, body = row
    if t is not None and not math.isfinite(t):
        raise ValueError(f"the cook {cook!r} has a record at no time")
    if time_of(_body(cook, body)) != t:
        raise ValueError(f"the cook {cook!r} has a record at two times: {body[:40]!r}")


def check_call(row: Row) -> None:
    """Raise ValueError for a row of ``calls`` (cook, body) that is no announcement."""
    _body(*row)


def _body(cook: str, body: str) -> dict[str, Any]:
    """An object of JSON that is not nested so deeply that writing it again would fail."""
    try:
        record = json.loads(body)
        if isinstance(record, dict) and is_shallow(record):
            return record
    except (ValueError, RecursionError):
        pass
    raise ValueError(f"the cook {cook!r} has a record that cannot be read: {body[:40]!r}")

"""When cooks began, as well as it is known: a board without a battery learns the time later."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import TypeVar

from pullcall.errors import LogError
from pullcall.events import Input, Setting
from pullcall.log.records import parse_input

T = TypeVar("T")
#: A clock that says an earlier year was never set.
_FIRST_YEAR = 2000


def start_of(event: Input | None) -> str | None:
    """The start that an input sets right, if it does."""
    if not isinstance(event, Setting) or (event.steak, event.name) != (None, "started"):
        return None
    return event.value if isinstance(event.value, str) else None


def start_in(body: str) -> str | None:
    """The same of the text of a record."""
    if '"name":"started"' not in body:
        return None
    try:
        return start_of(parse_input(json.loads(body)))
    except (ValueError, LogError, RecursionError):
        return None


def latest_start(inputs: Iterable[Input]) -> str | None:
    """The start that stands after ``inputs``; None where none sets it right."""
    starts = [start for event in inputs if (start := start_of(event)) is not None]
    return starts[-1] if starts else None


def set_starts_right(db: sqlite3.Connection) -> None:
    """Bring ``cooks.started`` up to what records say: reads them all, once in a log's life."""
    rows = db.execute(
        "SELECT cook, body FROM records WHERE body LIKE ? ORDER BY seq", ('%"name":"started"%',)
    ).fetchall()
    for cook, body in rows:
        start = start_in(body)
        if start is not None:
            db.execute("UPDATE cooks SET started = ? WHERE id = ?", (start, cook))


def in_order(rows: Sequence[tuple[str, T]]) -> list[T]:
    """Things with their starts, given as they came into the log, the latest start last.

    One whose start is not known stays behind the one that came before it.
    """
    keyed, latest = [], datetime.min.replace(tzinfo=UTC)
    for started, thing in rows:
        latest = _instant(started) or latest
        keyed.append((latest, thing))
    keyed.sort(key=lambda key: key[0])
    return [thing for _, thing in keyed]


def _instant(text: str) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    if moment.year < _FIRST_YEAR:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)

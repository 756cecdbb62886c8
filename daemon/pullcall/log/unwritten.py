"""What of spilled entries the log does not have yet: a commit that failed may have been kept."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import replace

from pullcall.log.entries import Begun, Entry, Place, Spilled
from pullcall.log.spill_lines import as_spilled

logger = logging.getLogger(__name__)
_RECORDS = "SELECT body, seq FROM records WHERE cook = ? AND seq > ? AND t IS NOT NULL ORDER BY seq"
_CALLS = "SELECT body, seq FROM calls WHERE cook = ? AND seq > ? ORDER BY seq"
_Rows = Iterator[tuple[str, int]]


def unwritten(
    db: sqlite3.Connection, after: Place, entries: Sequence[Entry]
) -> tuple[list[Entry], Place]:
    """Those from the first one on that the log does not have, and its place before them.

    Entries are only ever committed in order, several at once or none, so what of them came into the
    log ``after`` that place are the first of them; what was logged in between, by a run that could
    not read them, is passed over. Raises sqlite3.Error.
    """
    there: dict[tuple[str, bool], _Rows] = {}
    done, place = 0, after
    for number, entry in enumerate(entries, start=1):
        what = as_spilled(entry.what)
        if not isinstance(what, Spilled):
            continue
        key = entry.cook, what.is_call
        if key not in there:
            there[key] = _rows(db, entry.cook, what.is_call, after)
        row = next((row for body, row in there[key] if body == what.body), None)
        if row is None:
            break
        done = number
        place = replace(place, call=row) if what.is_call else replace(place, record=row)
    return list(entries[done:]), place


def without_orphans(db: sqlite3.Connection, entries: Sequence[Entry]) -> list[Entry]:
    """Those whose cook is in the log or begins here. Raises sqlite3.Error."""
    known = {cook for (cook,) in db.execute("SELECT id FROM cooks")}
    known |= {entry.cook for entry in entries if isinstance(entry.what, Begun)}
    kept = [entry for entry in entries if entry.cook in known]
    for cook in sorted({entry.cook for entry in entries} - known):
        count = sum(entry.cook == cook for entry in entries)
        logger.error("%d spilled entries are left out: the log has no cook %s.", count, cook)
    return kept


def _rows(db: sqlite3.Connection, cook: str, is_call: bool, after: Place) -> _Rows:
    number = after.call if is_call else after.record
    return iter(db.execute(_CALLS if is_call else _RECORDS, (cook, number)))

"""What of spilled entries the log does not have yet: a commit that failed may have been kept."""

from __future__ import annotations

import logging
import sqlite3
from collections import deque
from collections.abc import Sequence

from pullcall.log.entries import Begun, Entry, Place, Spilled
from pullcall.log.spill_lines import as_spilled

logger = logging.getLogger(__name__)
_RECORDS = "SELECT body FROM records WHERE cook = ? AND seq > ? AND t IS NOT NULL ORDER BY seq"
_CALLS = "SELECT body FROM calls WHERE cook = ? AND seq > ? ORDER BY seq"


def unwritten(db: sqlite3.Connection, after: Place, entries: Sequence[Entry]) -> list[Entry]:
    """Those from the first one on that the log does not have.

    Entries are only ever committed in order, several at once or none; what of their cooks came into
    the log ``after`` that place are the first of them. Raises sqlite3.Error.
    """
    there: dict[tuple[str, bool], deque[str]] = {}
    done = 0
    for number, entry in enumerate(entries, start=1):
        what = as_spilled(entry.what)
        if not isinstance(what, Spilled):
            continue
        rows = there.get((entry.cook, what.is_call))
        if rows is None:
            rows = there[entry.cook, what.is_call] = _rows(db, entry.cook, what.is_call, after)
        if not rows or rows.popleft() != what.body:
            break
        done = number
    return list(entries[done:])


def without_orphans(db: sqlite3.Connection, entries: Sequence[Entry]) -> list[Entry]:
    """Those whose cook is in the log or begins here. Raises sqlite3.Error."""
    known = {cook for (cook,) in db.execute("SELECT id FROM cooks")}
    known |= {entry.cook for entry in entries if isinstance(entry.what, Begun)}
    kept = [entry for entry in entries if entry.cook in known]
    for cook in sorted({entry.cook for entry in entries} - known):
        count = sum(entry.cook == cook for entry in entries)
        logger.error("%d spilled entries are left out: the log has no cook %s.", count, cook)
    return kept


def _rows(db: sqlite3.Connection, cook: str, is_call: bool, after: Place) -> deque[str]:
    number = after.call if is_call else after.record
    rows = db.execute(_CALLS if is_call else _RECORDS, (cook, number))
    return deque(body for (body,) in rows)

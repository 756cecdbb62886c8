"""What can still be read of a damaged log, of the cooks that had not ended."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Sequence
from contextlib import closing, suppress
from pathlib import Path

from pullcall.log.database import connect

logger = logging.getLogger(__name__)
_COOKS = "id, started, header, boot, zero_monotonic, ended"
_TABLES = {"records": "seq, cook, t, body", "calls": "seq, cook, body"}


def salvage(damaged: Path, into: sqlite3.Connection) -> int:
    """Copy the cooks that had not ended, under their rows' own numbers; how many rows.

    What lies in a damaged part is left out. Raises sqlite3.Error where ``into`` fails.
    """
    if damaged.is_dir() or damaged.stat().st_size == 0:  # opened, it would lose what is ahead of it
        return 0
    with suppress(sqlite3.DatabaseError), closing(connect(damaged, "ro")) as source:
        cooks = _rows(source, f"SELECT {_COOKS} FROM cooks WHERE ended IS NULL", ())
        return sum(_copy(source, into, cook) for cook in cooks)
    return 0


def _copy(source: sqlite3.Connection, into: sqlite3.Connection, cook: Sequence[object]) -> int:
    into.execute("BEGIN IMMEDIATE")
    try:
        into.execute("INSERT INTO cooks VALUES (?, ?, ?, ?, ?, ?)", cook)
        count = 0
        for table, columns in _TABLES.items():
            rows = _from_both_ends(source, table, columns, cook[0])
            marks = ", ".join("?" * len(columns.split(",")))
            into.executemany(f"INSERT OR IGNORE INTO {table}({columns}) VALUES ({marks})", rows)
            count += len(rows)
        into.execute("COMMIT")
    except BaseException:
        into.execute("ROLLBACK")
        raise
    return count


def _from_both_ends(
    source: sqlite3.Connection, table: str, columns: str, cook: object
) -> list[tuple[object, ...]]:
    """The rows of one cook up to the first damage, and from the last damage on."""
    query = f"SELECT {columns} FROM {table} WHERE cook = ? ORDER BY seq"
    ahead = _rows(source, query, (cook,))
    back = _rows(source, f"{query} DESC", (cook,))
    if not ahead and not back:  # the index may be what is damaged
        query = f"SELECT {columns} FROM {table} NOT INDEXED WHERE cook = ? ORDER BY seq"
        ahead, back = _rows(source, query, (cook,)), _rows(source, f"{query} DESC", (cook,))
    return list(dict.fromkeys([*ahead, *reversed(back)]))


def _rows(
    source: sqlite3.Connection, query: str, given: Sequence[object]
) -> list[tuple[object, ...]]:
    """Every row up to the first that cannot be read."""
    found: list[tuple[object, ...]] = []
    try:
        found.extend(source.execute(query, given))
    except (sqlite3.DatabaseError, UnicodeDecodeError) as exc:
        logger.warning("A part of the damaged log cannot be read (%s).", exc)
    return found

"""The cook log in SQLite: append-only, WAL, synchronous=FULL, one writer connection."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from pullcall.errors import LogError, LogFormatError
from pullcall.events import Call, CookHeader, Input
from pullcall.log.call_records import call_record
from pullcall.log.cook_file import CookFile, parse_cook_lines
from pullcall.log.records import header_record, input_record, to_line

_APPLICATION_ID = 0x50554C4C  # "PULL", so that another program's database is recognised
_SCHEMA = 1
_TABLES = """
CREATE TABLE cooks (
    id TEXT PRIMARY KEY, started TEXT NOT NULL, header TEXT NOT NULL,
    boot TEXT NOT NULL, zero_monotonic REAL NOT NULL, ended TEXT
) STRICT;
CREATE TABLE records (
    seq INTEGER PRIMARY KEY, cook TEXT NOT NULL REFERENCES cooks(id), t REAL, body TEXT NOT NULL
) STRICT;
CREATE INDEX records_by_cook ON records(cook, seq);
CREATE TABLE calls (
    seq INTEGER PRIMARY KEY, cook TEXT NOT NULL REFERENCES cooks(id), body TEXT NOT NULL
) STRICT;
CREATE INDEX calls_by_cook ON calls(cook, seq);
"""


@dataclass(frozen=True, slots=True)
class CookEntry:
    """A cook as the log lists it. ``started`` and ``ended`` are ISO 8601 wall times.

    ``boot`` and ``zero_monotonic`` place the cook's zero on the machine's monotonic clock.
    """

    header: CookHeader
    boot: str
    zero_monotonic: float
    ended: str | None

    @property
    def id(self) -> str:
        """The cook's id."""
        return self.header.cook


class Store:
    """The one connection that writes. Every method commits before it returns.

    Raises LogError with a sentence that says what to do; what was committed stays.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        with _translated(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            self._db = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
            try:
                self._open()
            except BaseException:
                self._db.close()
                raise

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the connection; safe to call twice."""
        self._db.close()

    def begin(self, header: CookHeader, boot: str, zero_monotonic: float) -> None:
        """Add a cook. Raises LogError if one of this id is there already."""
        with self._transaction():
            if self._db.execute("SELECT 1 FROM cooks WHERE id = ?", (header.cook,)).fetchone():
                raise LogError(
                    f"The log has a cook {header.cook!r} already: nothing was changed. "
                    f"To import it again, give it another id in the file's first line."
                )
            self._db.execute(
                "INSERT INTO cooks VALUES (?, ?, ?, ?, ?, NULL)",
                (
                    header.cook,
                    header.started,
                    to_line(header_record(header)),
                    boot,
                    zero_monotonic,
                ),
            )

    def end(self, cook: str, when: str) -> None:
        """Note that a cook is over."""
        with self._transaction():
            self._db.execute("UPDATE cooks SET ended = ? WHERE id = ?", (when, cook))

    def append(self, cook: str, inputs: Iterable[Input]) -> None:
        """Log inputs, all or none."""
        with self._transaction():
            self._db.executemany(
                "INSERT INTO records(cook, t, body) VALUES (?, ?, ?)",
                [(cook, e.t, to_line(input_record(e))) for e in inputs],
            )

    def append_calls(self, cook: str, calls: Iterable[Call]) -> None:
        """Log announcements, before they are announced."""
        with self._transaction():
            self._db.executemany(
                "INSERT INTO calls(cook, body) VALUES (?, ?)",
                [(cook, to_line(call_record(call))) for call in calls],
            )

    def bring_in(self, cook: CookFile, when: str) -> None:
        """Import a whole cook, unknown keys and kinds of record included; all or nothing."""
        self.begin(cook.header, boot="imported", zero_monotonic=0.0)
        with self._transaction():
            self._db.executemany(
                "INSERT INTO records(cook, t, body) VALUES (?, ?, ?)",
                [
                    (cook.header.cook, r.get("t"), to_line(r))
                    for r in sorted(cook.records, key=lambda r: float(r.get("t") or 0.0))
                ],
            )
            self._db.execute("UPDATE cooks SET ended = ? WHERE id = ?", (when, cook.header.cook))

    def cooks(self) -> tuple[CookEntry, ...]:
        """Every logged cook, the latest last."""
        with _translated(self.path):
            rows = self._db.execute(
                "SELECT header, boot, zero_monotonic, ended FROM cooks ORDER BY started, rowid"
            ).fetchall()
        return tuple(_entry(*row) for row in rows)

    def cook(self, cook: str) -> CookFile:
        """One logged cook with its inputs. Raises LogError for an id the log does not have."""
        return parse_cook_lines(self.lines(cook))

    def lines(self, cook: str) -> list[str]:
        """The lines of one cook's file, header first, exactly as logged."""
        with _translated(self.path):
            header = self._db.execute("SELECT header FROM cooks WHERE id = ?", (cook,)).fetchone()
            if header is None:
                raise LogError(f"The log has no cook {cook!r}: `pullcall logbook` lists them.")
            rows = self._db.execute("SELECT body FROM records WHERE cook = ? ORDER BY seq", (cook,))
            return [header[0], *(body for (body,) in rows)]

    def call_lines(self, cook: str) -> list[str]:
        """Every announcement logged for one cook, in order, as JSON."""
        with _translated(self.path):
            rows = self._db.execute("SELECT body FROM calls WHERE cook = ? ORDER BY seq", (cook,))
            return [body for (body,) in rows]

    def _open(self) -> None:
        """Check whose database this is, then set it up for one careful writer."""
        owner = self._pragma("application_id")
        is_new = not self._db.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone()
        if not is_new and owner != _APPLICATION_ID:
            raise LogFormatError(
                f"{self.path} is another program's database: give another path with --log."
            )
        if not is_new and self._pragma("user_version") != _SCHEMA:
            raise LogFormatError(
                f"{self.path} was written by another version of Pullcall: update Pullcall, or give "
                f"another path with --log. The file was left as it is."
            )
        self._db.execute("PRAGMA journal_mode = WAL")
        self._db.execute("PRAGMA synchronous = FULL")
        self._db.execute("PRAGMA busy_timeout = 5000")
        self._db.execute("PRAGMA foreign_keys = ON")
        if is_new:
            self._db.executescript(f"BEGIN; {_TABLES} COMMIT;")
            self._db.execute(f"PRAGMA application_id = {_APPLICATION_ID}")
            self._db.execute(f"PRAGMA user_version = {_SCHEMA}")

    def _pragma(self, name: str) -> int:
        return int(self._db.execute(f"PRAGMA {name}").fetchone()[0])

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with _translated(self.path):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise


def _entry(header: str, boot: str, zero_monotonic: float, ended: str | None) -> CookEntry:
    return CookEntry(parse_cook_lines([header]).header, boot, zero_monotonic, ended)


@contextmanager
def _translated(path: Path) -> Iterator[None]:
    """SQLite's and the system's errors as one sentence that says what to do."""
    try:
        yield
    except sqlite3.OperationalError as exc:
        raise LogError(
            f"The cook log {path} cannot be used ({exc}): check the disk and its permissions."
        ) from exc
    except sqlite3.DatabaseError as exc:
        raise LogError(
            f"The cook log {path} cannot be read ({exc}): move it aside or give another path with "
            f"--log; nothing in it was changed."
        ) from exc
    except OSError as exc:
        raise LogError(f"Cannot make the cook log {path} ({exc.strerror}): give --log.") from exc

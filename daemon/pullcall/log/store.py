"""The cook log in SQLite: append-only, WAL, synchronous=FULL, one writer connection."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path

from pullcall.errors import CookKnownError, LogError
from pullcall.events import CookHeader, Note
from pullcall.learning.choice import Choice
from pullcall.log.backup_file import Backup, Restored, restored
from pullcall.log.cook_entry import IMPORTED
from pullcall.log.cook_file import CookFile, in_time_order, parse_cook_lines
from pullcall.log.database import (
    check_owner,
    connect,
    is_empty,
    make_tables,
    sole_writer,
    translated,
)
from pullcall.log.entries import Begun, Ended, Entry, Moved, Place, Spilled
from pullcall.log.foreign_rows import Row
from pullcall.log.header import header_record
from pullcall.log.held import Held
from pullcall.log.ids import check_id
from pullcall.log.logged import Logged
from pullcall.log.note_records import note_record
from pullcall.log.records import to_line
from pullcall.log.spill_lines import as_spilled
from pullcall.log.starts import latest_start, start_in
from pullcall.log.unwritten import unwritten, without_orphans
from pullcall.plan.wall import wall_time

logger = logging.getLogger(__name__)

#: A start goes through every second of the cook it takes up: one of another machine that is
#: longer than a day is over.
_LONGEST_TO_GO_ON_S = 86400.0
_NEXT = "(SELECT max(coalesce(max(seq), 0), ?) + 1 FROM {})"
_INSERT_RECORD = (
    f"INSERT INTO records(seq, cook, t, body) VALUES ({_NEXT.format('records')}, ?, ?, ?)"
)
_INSERT_CALL = f"INSERT INTO calls(seq, cook, body) VALUES ({_NEXT.format('calls')}, ?, ?)"


class Store(Logged, Held):
    """The one connection that writes; ``reads_only`` opens another beside it, for a look.

    Every method commits before it returns and raises LogError with a sentence that says what to
    do; what was committed stays. A second writer is refused while the first lives.
    """

    #: What people have to be told of the log since it was opened.
    notice: str | None = None

    def __init__(self, path: Path, *, reads_only: bool = False) -> None:
        self._name(path)
        self._place, self._is_sure = self._open(reads_only=reads_only), True

    def begin(self, header: CookHeader, boot: str, zero_monotonic: float) -> None:
        """Add a cook. Raises LogError if one of this id is there already."""
        with self._transaction():
            self._add(header, boot, zero_monotonic)

    def end(self, cook: str, when: str) -> None:
        """Note that a cook is over."""
        self.write([Entry(cook, Ended(when))])

    def write(self, entries: Iterable[Entry]) -> None:
        """Log entries in order, all or none. What a commit that failed left in the log all the
        same is not logged again; then entries of cooks that are not there are left out."""
        with self._transaction():
            left, place, is_sure = list(entries), self._place, self._is_sure
            if not is_sure:
                left, place = unwritten(self._db, place, without_orphans(self._db, left))
            self._is_sure = False
            for entry in left:
                place = self._insert(entry, place)
        self._is_sure, self._place = is_sure or bool(left), place

    def write_spilled(self, after: Place, entries: Iterable[Entry]) -> None:
        """Log what an earlier run could not, given how far the log had come before it."""
        self._is_sure, self._place = False, after
        self.write(entries)

    def place(self) -> Place:
        """How far the log had come when it was last written."""
        return self._place

    def lacks(self, after: Place, entries: Sequence[Entry]) -> list[Entry]:
        """Those of spilled entries that the log does not have; writes nothing."""
        with translated(self.path):
            return unwritten(self._db, after, without_orphans(self._db, entries))[0]

    def note(self, cook: str, notes: Iterable[Note]) -> None:
        """Write in the logbook of a cook, all or none. Raises LogError for an unknown cook."""
        with self._transaction():
            self._require(cook)
            self._db.executemany(
                "INSERT INTO records(cook, t, body) VALUES (?, NULL, ?)",
                [(cook, to_line(note_record(note))) for note in notes],
            )

    def choose(self, choice: Choice) -> None:
        """Keep what was chosen for a lesson; what was chosen before stays in the log."""
        with self._transaction():
            self._db.execute(
                "INSERT INTO choices(wall, name, mode, value) VALUES (?, ?, ?, ?)",
                (choice.wall, choice.name, str(choice.mode), choice.value),
            )

    def bring_in(self, cook: CookFile, when: str) -> None:
        """Import a whole cook, unknown keys and kinds of record included; all or nothing.

        Raises LogFormatError for an id that could not be named, LogError for one that is here.
        """
        check_id(cook.header.cook)
        with self._transaction():
            self._add(cook.header, IMPORTED, 0.0)
            self._set_start(cook.header.cook, latest_start(cook.inputs))
            self._db.executemany(
                "INSERT INTO records(cook, t, body) VALUES (?, ?, ?)",
                [(cook.header.cook, t, to_line(r)) for t, r in in_time_order(cook.records)],
            )
            self._db.execute("UPDATE cooks SET ended = ? WHERE id = ?", (when, cook.header.cook))

    def take_in(self, backup: Backup) -> Restored:
        """Add every cook of a backup that the log does not have, to the byte; all or nothing.

        Nothing is overwritten: choices are taken over only for lessons that the log has none for.
        """
        added = known = 0
        with self._transaction():
            for row in backup.cooks():
                if self._has(row[0]):
                    known += 1
                else:
                    self._take_cook(row, backup)
                    added += 1
            chosen = {choice.name for choice in self.choices()}
            self._db.executemany(
                "INSERT INTO choices(wall, name, mode, value) VALUES (?, ?, ?, ?)",
                (row for row in backup.choices() if row[1] not in chosen),
            )
        return restored(added, known)

    def delete(self, cook: str, *, is_over: bool = False) -> None:
        """Delete a cook; :meth:`wipe` then removes its traces.

        Raises LogError for a cook that has not ended, unless ``is_over`` says that it will not go
        on; and for one that is not there, but not while traces are: it is deleted already.
        """
        with self._transaction():
            if self.has_traces() and not self._has(cook):
                return
            _, ended = self._require(cook)
            self._traces.touch()
            if ended is None and not is_over:
                raise LogError(f"The cook {cook} has not ended: end it first, then delete it.")
            for table in ("calls", "records"):
                self._db.execute(f"DELETE FROM {table} WHERE cook = ?", (cook,))
            self._db.execute("DELETE FROM cooks WHERE id = ?", (cook,))

    def has_traces(self) -> bool:
        """Whether the log's files may still hold text of a cook that was deleted."""
        return self._traces.exists()

    def wipe(self) -> None:
        """Write the log anew, so that no file of it holds text of deleted cooks any more.

        Pages that SQLite split keep copies of rows that are gone. Takes seconds for a large log.
        Raises LogError where there is no room for it; it may be tried again.
        """
        with translated(self.path):
            try:
                self._db.execute("VACUUM")
            except sqlite3.OperationalError as exc:
                raise LogError(
                    f"The cook is deleted, but the file {self.path} may still hold its text, for "
                    f"it could not be written anew ({exc}): make room for it on the disk twice "
                    f"over, then delete the cook again."
                ) from exc
            is_busy, *_ = self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            self._traces.unlink(missing_ok=True)
        if is_busy:
            logger.warning("Traces stay in the log until whoever reads it is done.")

    def _name(self, path: Path) -> None:
        self.path = path
        #: There while deleted cooks were not wiped yet, whatever happened meanwhile.
        self._traces = path.with_name(f"{path.name}.traces")

    def _open(self, *, reads_only: bool = False) -> Place:
        """How far the log has come, for whoever writes."""
        with ExitStack() as undo, translated(self.path):
            if not reads_only:
                self.path.parent.mkdir(parents=True, exist_ok=True)
                undo.enter_context(sole_writer(self.path))
            self._db = connect(self.path, "ro" if reads_only else "rwc")
            undo.callback(self._db.close)
            self._set_up(reads_only)
            place = Place() if reads_only else self._stands()
            self._undo = undo.pop_all()
        return place

    def _set_up(self, reads_only: bool) -> None:
        """Check whose database this is, then set it up for one careful writer."""
        if not is_empty(self._db):
            check_owner(self._db, self.path)
        self._db.execute("PRAGMA busy_timeout = 2000")
        if reads_only:
            return
        self._db.execute("PRAGMA journal_mode = WAL")
        self._db.execute("PRAGMA synchronous = FULL")
        self._db.execute("PRAGMA foreign_keys = ON")
        self._db.execute("PRAGMA secure_delete = ON")
        make_tables(self._db)

    def _take_cook(self, row: Row, backup: Backup) -> None:
        """A cook of a backup as it stands there."""
        self._db.execute("INSERT INTO cooks VALUES (?, ?, ?, ?, ?, ?)", row)
        self._db.executemany(
            "INSERT INTO records(cook, t, body) VALUES (?, ?, ?)", backup.records(row[0])
        )
        self._db.executemany("INSERT INTO calls(cook, body) VALUES (?, ?)", backup.calls(row[0]))
        ends = "SELECT min(0, min(t)), max(0, max(t)) FROM records WHERE cook = ?"
        first, last = self._db.execute(ends, row[:1]).fetchone()
        if row[-1] is None and last is not None and last - first > _LONGEST_TO_GO_ON_S:
            ended = wall_time(parse_cook_lines([row[2]]).header, last)
            self._db.execute("UPDATE cooks SET ended = ? WHERE id = ?", (ended, row[0]))

    def _add(self, header: CookHeader, boot: str, zero_monotonic: float) -> None:
        if self._has(header.cook):
            raise CookKnownError(
                f"The log has a cook {header.cook!r} already: nothing was changed. "
                f"To import it again, give it another id in the file's first line (a table: give "
                f"the file another name)."
            )
        self._db.execute(
            "INSERT INTO cooks VALUES (?, ?, ?, ?, ?, NULL)",
            (header.cook, header.started, to_line(header_record(header)), boot, zero_monotonic),
        )

    def _insert(self, entry: Entry, place: Place) -> Place:
        """Log one entry; how far the log has come then. Numbers of rows never go back."""
        cook, what = entry.cook, as_spilled(entry.what)
        if isinstance(what, Begun):
            if not self._has(cook):
                self._add(what.header, what.boot, what.zero_monotonic)
        elif isinstance(what, Ended):
            self._db.execute("UPDATE cooks SET ended = ? WHERE id = ?", (what.when, cook))
        elif isinstance(what, Moved):
            self._db.execute(
                "UPDATE cooks SET boot = ?, zero_monotonic = ? WHERE id = ?",
                (what.boot, what.zero_monotonic, cook),
            )
        elif isinstance(what, Spilled):
            return self._insert_row(cook, what, place)
        return place

    def _insert_row(self, cook: str, what: Spilled, place: Place) -> Place:
        if what.is_call:
            row = self._db.execute(_INSERT_CALL, (place.call, cook, what.body))
            return replace(place, call=int(row.lastrowid or 0))
        row = self._db.execute(_INSERT_RECORD, (place.record, cook, what.t, what.body))
        self._set_start(cook, start_in(what.body))
        return replace(place, record=int(row.lastrowid or 0))

    def _stands(self) -> Place:
        """How far the log has come."""
        numbers = [
            self._db.execute(f"SELECT coalesce(max(seq), 0) FROM {table}").fetchone()[0]
            for table in ("records", "calls")
        ]
        return Place(*numbers)

    def _set_start(self, cook: str, started: str | None) -> None:
        """When a cook began is known better: the list goes by it."""
        if started is not None:
            self._db.execute("UPDATE cooks SET started = ? WHERE id = ?", (started, cook))

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with translated(self.path):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise

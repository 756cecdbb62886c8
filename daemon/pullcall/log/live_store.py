"""The log of a running daemon: whatever became of the file, a cook can begin."""

from __future__ import annotations

import logging
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterable
from contextlib import ExitStack, suppress
from datetime import datetime
from pathlib import Path

from pullcall.errors import LogDamagedError, LogError, LogFormatError, LogInUseError
from pullcall.log.aside import set_aside, why_unusable
from pullcall.log.database import connect, make_tables, translated
from pullcall.log.entries import Entry, Place
from pullcall.log.salvage import salvage
from pullcall.log.spill import spill_in_memory
from pullcall.log.store import Store

logger = logging.getLogger(__name__)


class LiveStore(Store):
    """A damaged log is kept under another name, and what can be read of the cook that ran goes into
    a new one. One whose disk cannot be written is read, and opened again at every write.

    Raises LogInUseError, and LogFormatError for a file that is no log of this version: those are
    somebody's to keep. ``wall`` is the time for the other name.
    """

    def __init__(self, path: Path, wall: datetime) -> None:
        self._wall = wall
        self._is_open = True
        try:
            self._open_or_begin_anew(path)
        except (LogInUseError, LogFormatError):
            raise
        except LogError as exc:
            logger.error("The cook log is only read for now. %s", exc)
            self._read_only(path)

    def write(self, entries: Iterable[Entry]) -> None:
        """As :meth:`Store.write`; opens the log first where that could not be done yet."""
        if not self._is_open:
            self._open_again()
        super().write(entries)

    def _open_or_begin_anew(self, path: Path) -> None:
        why = why_unusable(path)
        if why is None:
            try:
                super().__init__(path)
                self._look_through()
            except LogError as exc:
                if not _is_damage(exc, path):
                    raise
                why = str(exc.__cause__ or "it was damaged")
        if why is not None:
            self._begin_anew(path, why)

    def _look_through(self) -> None:
        """Read what a start reads, and touch what a cook writes; nothing is written."""
        try:
            with translated(self.path):
                _read_all(self._db)
                _try_to_write(self._db)
        except LogError:
            self.close()
            raise

    def _begin_anew(self, path: Path, why: str) -> None:
        aside = set_aside(path, self._wall)
        super().__init__(path)
        with translated(path):
            rows = salvage(aside, self._db)
        self._place = self._stands()
        self.notice = f"The cook log could not be used ({why}): it is kept as {aside.name}."
        logger.error("%s A new one was begun; %d rows were taken over.", self.notice, rows)

    def _read_only(self, path: Path) -> None:
        self._is_open, self._is_sure = False, False
        self._name(path)
        self._read()
        try:
            self._place = self._stands()
        except sqlite3.DatabaseError:
            self._place = Place()

    def _read(self) -> None:
        self._db = _readable(self.path)
        self._undo = ExitStack()
        self._undo.callback(self._db.close)

    def _open_again(self) -> None:
        """Raises LogError while the disk cannot be written.

        What only reads lets go first: within a process a log that one connection could not write is
        read only to all.
        """
        self.close()
        try:
            self._open()
        except LogError:
            self._read()
            raise
        self._is_open = True


def _is_damage(exc: LogError, path: Path) -> bool:
    """Whether the file is at fault and not the disk. A damaged head can say "read only"."""
    code = getattr(exc.__cause__, "sqlite_errorcode", 0) & 0xFF
    may_write = os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)
    return isinstance(exc, LogDamagedError) or (code == sqlite3.SQLITE_READONLY and may_write)


def _read_all(db: sqlite3.Connection) -> None:
    unfinished = db.execute("SELECT id FROM cooks WHERE ended IS NULL").fetchall()
    for cook in unfinished:
        for table in ("records", "calls"):
            db.execute(f"SELECT total(length(body)) FROM {table} WHERE cook = ?", cook).fetchone()


def _try_to_write(db: sqlite3.Connection) -> None:
    """A cook and a row of each kind, taken back at once."""
    db.execute("BEGIN IMMEDIATE")
    try:
        db.execute("INSERT INTO cooks VALUES ('', '', '', '', 0, NULL)")
        db.execute("INSERT INTO records(cook, t, body) VALUES ('', 0, '')")
        db.execute("INSERT INTO calls(cook, body) VALUES ('', '')")
    finally:
        db.execute("ROLLBACK")


def _readable(path: Path) -> sqlite3.Connection:
    """The log to read; of a file system that cannot be written, a copy where need be; where there
    is nothing to be read, an empty one."""
    with suppress(sqlite3.DatabaseError, OSError):
        return _checked(connect(path, "ro"))
    with suppress(sqlite3.DatabaseError, OSError):
        return _copy_of(path)
    empty = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    make_tables(empty)
    empty.execute("PRAGMA query_only = ON")
    return empty


def _copy_of(path: Path) -> sqlite3.Connection:
    """SQLite does not read what is not in the main file yet without a file of its own beside it."""
    memory = spill_in_memory(path)
    with tempfile.TemporaryDirectory(dir=None if memory is None else memory.parent) as folder:
        copy = Path(folder) / path.name
        for end in ("", "-wal"):
            with suppress(FileNotFoundError):
                shutil.copyfile(f"{path}{end}", f"{copy}{end}")
        db = _checked(connect(copy, "rw"))  # it stays open though its name goes
        db.execute("PRAGMA query_only = ON")
        return db


def _checked(db: sqlite3.Connection) -> sqlite3.Connection:
    try:
        db.execute("SELECT count(*) FROM cooks").fetchone()
    except BaseException:
        db.close()
        raise
    return db

"""The cook log's database: its tables, whose file it is, and SQLite's errors in plain words."""

from __future__ import annotations

import fcntl
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pullcall.errors import LogDamagedError, LogError, LogFormatError, LogInUseError
from pullcall.log.starts import set_starts_right

#: "PULL" and "PBAK": so that another program's database is recognised, and a backup is no log.
LOG_ID = 0x50554C4C
BACKUP_ID = 0x5042414B
#: 2: choices of lessons; ``cooks.started`` follows what records say of it.
SCHEMA = 2
TABLES = """
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
#: The last one: a table or an index is missing.
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_ERROR)
CHOICES = """
CREATE TABLE choices (
    seq INTEGER PRIMARY KEY, wall TEXT NOT NULL, name TEXT NOT NULL, mode TEXT NOT NULL, value REAL
) STRICT;
"""


def connect(path: Path, mode: str) -> sqlite3.Connection:
    """Open the file, ``mode`` being SQLite's: ``ro``, ``rw`` or ``rwc``."""
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    return sqlite3.connect(uri, uri=True, isolation_level=None, check_same_thread=False)


def pragma(db: sqlite3.Connection, name: str) -> int:
    """A number that the file or the connection has under that name."""
    return int(db.execute(f"PRAGMA {name}").fetchone()[0])


def is_empty(db: sqlite3.Connection) -> bool:
    """Whether nobody has made a table in it yet."""
    return db.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone() is None


def check_owner(db: sqlite3.Connection, path: Path) -> None:
    """Raise LogFormatError unless it is a cook log of a version that can be read here."""
    owner = pragma(db, "application_id")
    if owner == BACKUP_ID:
        raise LogFormatError(f"{path} is a backup: bring it in with `pullcall restore {path}`.")
    if owner != LOG_ID and _has_our_tables(db):
        raise LogDamagedError(f"The cook log {path} is damaged: its head does not say what it is.")
    if owner != LOG_ID:
        raise LogFormatError(f"{path} is another program's database: give another path with --log.")
    if not 1 <= pragma(db, "user_version") <= SCHEMA:
        raise LogFormatError(
            f"{path} was written by another version of Pullcall: update Pullcall, or give "
            f"another path with --log. The file was left as it is."
        )


def _has_our_tables(db: sqlite3.Connection) -> bool:
    names = {name for (name,) in db.execute("SELECT name FROM sqlite_master")}
    return names >= {"cooks", "records", "records_by_cook", "calls", "calls_by_cook"}


def make_tables(db: sqlite3.Connection) -> None:
    """Make the tables of a new log, or those that one of an earlier version does not have."""
    if is_empty(db):
        owner = f"PRAGMA application_id = {LOG_ID}; PRAGMA user_version = {SCHEMA};"
        db.executescript(f"BEGIN; {TABLES} {CHOICES} {owner} COMMIT;")
    elif pragma(db, "user_version") < SCHEMA:
        _upgrade(db)


def _upgrade(db: sqlite3.Connection) -> None:
    """From the first version, whose list went by the header's start alone."""
    db.execute("BEGIN IMMEDIATE")
    try:
        db.execute(CHOICES)
        set_starts_right(db)
        db.execute(f"PRAGMA user_version = {SCHEMA}")
        db.execute("COMMIT")
    except BaseException:
        db.execute("ROLLBACK")
        raise


@contextmanager
def sole_writer(path: Path) -> Iterator[None]:
    """Hold the log for writing. Raises LogError while another process holds it."""
    with path.with_name(f"{path.name}.lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise LogInUseError(
                f"Another Pullcall is writing the cook log {path}: do it on its page, in the "
                f"logbook, or stop it first, or give another path with --log."
            ) from None
        yield


def _kind(exc: sqlite3.DatabaseError | UnicodeDecodeError) -> type[LogError]:
    """Errors made by the module itself have no code; a name that is no text is damage."""
    if isinstance(exc, UnicodeDecodeError):
        return LogDamagedError
    code = getattr(exc, "sqlite_errorcode", 0) & 0xFF
    return LogDamagedError if code in _DAMAGED else LogError


@contextmanager
def translated(path: Path) -> Iterator[None]:
    """SQLite's and the system's errors as one sentence that says what to do."""
    try:
        yield
    except sqlite3.OperationalError as exc:
        raise _kind(exc)(
            f"The cook log {path} cannot be used ({exc}): check the disk and its permissions."
        ) from exc
    except (sqlite3.DatabaseError, UnicodeDecodeError) as exc:
        raise _kind(exc)(
            f"The cook log {path} cannot be read ({exc}): move it aside or give another path with "
            f"--log; nothing in it was changed."
        ) from exc
    except OSError as exc:
        raise LogError(
            f"The cook log {path} cannot be written ({exc.strerror}): check the disk and its "
            f"permissions, or give another path with --log."
        ) from exc

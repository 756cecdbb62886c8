"""A backup as a file: one SQLite database that is told from a log, and checked before it is used.

It has the log's tables, and beside them ``kept``: the settings of that time without their secrets,
and a digest of all rows, because SQLite does not notice a byte that changed inside a text.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from pullcall.errors import LogError, LogFormatError
from pullcall.log.database import BACKUP_ID, CHOICES, SCHEMA, TABLES, pragma
from pullcall.log.foreign_rows import Row, check_call, check_cook, check_record, read_choice
from pullcall.log.held import Held

KEPT = "CREATE TABLE kept (name TEXT PRIMARY KEY, text TEXT NOT NULL) STRICT;"
#: What ``kept`` holds.
CONFIG, DIGEST = "pullcall.toml", "sha256"

#: What holds for each row of each table.
_CHECKS: tuple[tuple[str, str, Callable[[Row], object]], ...] = (
    ("cooks", "*", check_cook),
    ("records", "cook, t, body", check_record),
    ("calls", "cook, body", check_call),
    ("choices", "wall, name, mode, value", read_choice),
)


@dataclass(frozen=True, slots=True)
class Restored:
    """What a backup brought: cooks that were added, and those the log had (left as they were).

    ``words`` are the same as a sentence.
    """

    cooks: int
    known: int
    words: str


def restored(cooks: int, known: int) -> Restored:
    """The same with its words."""
    words = f"{cooks} {'cook was' if cooks == 1 else 'cooks were'} added"
    if known:
        words += f", {known} {'was' if known == 1 else 'were'} in the log already"
    return Restored(cooks, known, f"{words}.")


class Backup(Held):
    """A backup opened to read, checked whole. Raises LogError for any other or a damaged file.

    ``name`` is what messages call it, in place of the path.
    """

    def __init__(self, path: Path, name: str | None = None) -> None:
        self._name = name or str(path)
        if not path.is_file():
            raise LogError(f"There is no backup {path}: check the path.")
        with ExitStack() as undo, _translated(self._name):
            uri = f"{path.absolute().as_uri()}?mode=ro&immutable=1"
            self._db = sqlite3.connect(uri, uri=True, check_same_thread=False)
            undo.callback(self._db.close)
            self._check()
            self._undo = undo.pop_all()

    def config(self) -> str | None:
        """The settings as they were, without secrets; None where they were not kept."""
        with _translated(self._name):
            return _kept(self._db, CONFIG)

    def cooks(self) -> Iterator[Row]:
        """Rows of the log's table ``cooks``, in its order."""
        return self._rows("SELECT * FROM cooks ORDER BY rowid")

    def records(self, cook: str) -> Iterator[Row]:
        """(cook, t, body) of one cook, in order."""
        return self._rows("SELECT cook, t, body FROM records WHERE cook = ? ORDER BY seq", cook)

    def calls(self, cook: str) -> Iterator[Row]:
        """(cook, body) of one cook's announcements, in order."""
        return self._rows("SELECT cook, body FROM calls WHERE cook = ? ORDER BY seq", cook)

    def choices(self) -> Iterator[Row]:
        """(wall, name, mode, value) of every choice, oldest first."""
        return self._rows("SELECT wall, name, mode, value FROM choices ORDER BY seq")

    def _rows(self, query: str, *values: str) -> Iterator[Row]:
        with _translated(self._name):
            yield from self._db.execute(query, values)

    def _check(self) -> None:
        self._db.execute("PRAGMA trusted_schema = OFF")
        self._db.execute("PRAGMA cell_size_check = ON")
        if pragma(self._db, "application_id") != BACKUP_ID:
            raise LogFormatError(
                f"{self._name} is no backup of Pullcall: give a file that `pullcall backup` wrote."
            )
        if pragma(self._db, "user_version") > SCHEMA:
            raise LogFormatError(
                f"{self._name} was written by a later version of Pullcall: update Pullcall first."
            )
        # The shape first: a look at the whole works out whatever checks and indexes a file has.
        if _shape(self._db) != _usual_shape() or not is_whole(self._db):
            raise _damaged(self._name)
        if digest_of(self._db) != _kept(self._db, DIGEST):
            raise _damaged(self._name)
        self._check_rows()

    def _check_rows(self) -> None:
        """Whoever makes a backup makes its digest too: what a start would stumble over is refused
        here, where nothing was changed yet."""
        try:
            for table, columns, check in _CHECKS:
                for row in self._db.execute(f"SELECT {columns} FROM {table}"):
                    check(row)
        except ValueError as exc:
            raise LogFormatError(
                f"{self._name} cannot be used, nothing was changed: {exc}. Take an older backup."
            ) from exc


def is_whole(db: sqlite3.Connection) -> bool:
    """Whether SQLite finds nothing wrong with its file."""
    return bool(db.execute("PRAGMA integrity_check(1)").fetchone() == ("ok",))


def digest_of(db: sqlite3.Connection) -> str:
    """SHA-256 of every row, but for the digest itself."""
    digest = hashlib.sha256()
    for table in ("cooks", "records", "calls", "choices", "kept"):
        digest.update(f"{table}\n".encode())
        for row in db.execute(f"SELECT * FROM {table} ORDER BY rowid"):
            if row[0] != DIGEST or table != "kept":
                digest.update(json.dumps(row).encode())
    return digest.hexdigest()


def _kept(db: sqlite3.Connection, name: str) -> str | None:
    row = db.execute("SELECT text FROM kept WHERE name = ?", (name,)).fetchone()
    return None if row is None else str(row[0])


def _usual_shape() -> set[Row]:
    with closing(sqlite3.connect(":memory:")) as db:
        db.executescript(f"{TABLES} {CHOICES} {KEPT}")
        return _shape(db)


def _shape(db: sqlite3.Connection) -> set[Row]:
    """Every table and column with its type: no more (no trigger, no view), and no less.

    The text that each was made by counts too, but for spaces: it could hold a check, a default or
    an expression that is worked out for every row.
    """
    things = db.execute("SELECT type, name, tbl_name FROM sqlite_master").fetchall()
    made = db.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    strict = db.execute("SELECT name, strict FROM pragma_table_list WHERE schema = 'main'")
    shape = {*things, *(row for row in strict if not row[0].startswith("sqlite_"))}
    shape |= {(name, "".join(text.split()).lower()) for name, text in made}
    for kind, name, _ in things:
        if kind == "table":
            columns = db.execute("SELECT name, type, pk FROM pragma_table_xinfo(?)", (name,))
            shape |= {(name, *column) for column in columns}
    return shape


def _damaged(name: str) -> LogFormatError:
    return LogFormatError(
        f"{name} is damaged: nothing was changed. Fetch the file again, or take an older backup."
    )


@contextmanager
def _translated(name: str) -> Iterator[None]:
    try:
        yield
    except (sqlite3.DatabaseError, UnicodeDecodeError) as exc:
        if "not a database" in str(exc):
            raise LogFormatError(
                f"{name} is no backup of Pullcall: give a file that `pullcall backup` wrote."
            ) from exc
        raise _damaged(name) from exc

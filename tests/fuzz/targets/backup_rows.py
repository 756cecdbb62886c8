"""A backup that somebody made, digest and all: its rows are checked before anything is changed."""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from pullcall.errors import LogError
from pullcall.log.backup import back_up, restore
from pullcall.log.backup_file import DIGEST, KEPT, digest_of
from pullcall.log.cook_file import parse_cook_lines
from pullcall.log.database import BACKUP_ID, CHOICES, SCHEMA, TABLES
from pullcall.log.store import Store
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_words
from tests.fuzz.scratch import scratch
from tests.fuzz.target import Target

_FOLDER = scratch()
_BACKUP, _LOG, _AGAIN = (_FOLDER / name for name in ("b", "cooks.db", "again"))
_ENDS = (None, "2026-06-13T18:00:00+00:00", "")
_NUMBERS = (0.0, 1.5, -1e9, 1e300, float("inf"), float("nan"), None)


def check(data: bytes) -> None:
    """A line for each row; what is restored is listed, read and backed up again."""
    _make(data)
    for path in (_LOG, _AGAIN):
        for name in ("", "-wal", "-shm"):
            Path(f"{path}{name}").unlink(missing_ok=True)
    try:
        restore(_BACKUP, _LOG)
    except LogError as error:
        check_words(str(error))
        return
    with Store(_LOG) as store:
        for entry in store.cooks():
            store.cook(entry.id)
            assert parse_cook_lines(store.lines(entry.id)).header.cook == entry.id
            store.notes(entry.id)
        store.choices()
    back_up(_LOG, _AGAIN)
    restore(_AGAIN, _LOG)


def _make(data: bytes) -> None:
    _BACKUP.unlink(missing_ok=True)
    with closing(sqlite3.connect(_BACKUP, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = OFF")
        db.execute("PRAGMA synchronous = OFF")
        db.executescript(f"{TABLES} {CHOICES} {KEPT}")
        db.execute(f"PRAGMA application_id = {BACKUP_ID}")
        db.execute(f"PRAGMA user_version = {SCHEMA}")
        for line in data.split(b"\n")[:20]:
            with suppress(sqlite3.IntegrityError):
                _insert(db, line)
        db.execute("INSERT OR REPLACE INTO kept VALUES (?, ?)", (DIGEST, digest_of(db)))


def _insert(db: sqlite3.Connection, line: bytes) -> None:
    cards = Cards(line)
    kind, number, end = cards.byte() % 4, cards.pick(_NUMBERS), cards.pick(_ENDS)
    text = cards.rest().decode("utf-8", "replace")
    if kind == 0:
        db.execute(
            "INSERT INTO cooks VALUES ('c', ?, ?, 'b', ?, ?)", (text[:30], text, number, end)
        )
    elif kind == 1:
        db.execute("INSERT INTO records(cook, t, body) VALUES ('c', ?, ?)", (number, text))
    elif kind == 2:
        db.execute("INSERT INTO calls(cook, body) VALUES ('c', ?)", (text,))
    else:
        row = (text[5:], text[:5], number)
        db.execute("INSERT INTO choices(wall, name, mode, value) VALUES ('w', ?, ?, ?)", row)


_HEADER = (
    b'{"record":"cook","version":1,"cook":"c","started":"2026-06-13T13:40:00+00:00","steaks":'
    b'[{"steak":"left"}]}'
)
TARGET = Target(
    check,
    (
        b"\x00\x00\x01" + _HEADER + b'\n\x01\x01\x00{"record":"reading","t":1.5,"steak":"left",'
        b'"celsius":5.0}\n\x02\x00\x00{"t":1.5,"call":"flip"}\n\x03\x01\x00own  reaction',
        b"\x00\x00\x00" + _HEADER.replace(b"+00:00", b""),
        b"\x00\x05\x00" + _HEADER,
        b"\x00\x00\x00" + _HEADER + b"\n\x01\x02\x00[]\n\x01\x04\x00{}",
        b"\x00\x00\x00" + _HEADER + b'\n\x01\x00\x00{"x":' + b"[" * 990 + b"]" * 990 + b"}",
    ),
    (b'"record":"note"', b'"window":{"opens":"', b"own  ", b"learn", b"defau", b"\n\x01\x01\x01{"),
    longest=3000,
    weight=2,
)

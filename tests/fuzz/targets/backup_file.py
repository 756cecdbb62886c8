"""Bytes given as a backup, and as a cook log: another program's file, or a damaged one."""

from __future__ import annotations

from pathlib import Path

from pullcall.errors import LogError
from pullcall.events import CookHeader, Reading
from pullcall.log.backup import back_up
from pullcall.log.backup_file import Backup
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_words
from tests.fuzz.scratch import scratch
from tests.fuzz.target import Target

_FOLDER = scratch()
_FILE = _FOLDER / "file.db"


def _whole() -> tuple[bytes, bytes]:
    """A log of one cook and its backup."""
    log, backup = (_FOLDER / name for name in ("whole.db", "whole.backup"))
    with Store(log) as store:
        store.begin(CookHeader("c", "2026-06-13T13:40:00+00:00"), "boot", 0.0)
        store.write([Entry("c", Reading(1.5, "left", 5.0))])
    back_up(log, backup)
    return log.read_bytes(), backup.read_bytes()


_WHOLE = _whole()


def check(data: bytes) -> None:
    """A whole file with bytes changed, or bytes alone: used whole, or refused in a sentence."""
    cards = Cards(data)
    content = bytearray(cards.pick((*_WHOLE, b"")) or cards.rest())
    while cards.left:
        place = (cards.byte() << 16 | cards.byte() << 8 | cards.byte()) % len(content)
        content[place] = cards.byte()
    for name in ("", "-wal", "-shm", "-journal"):
        Path(f"{_FILE}{name}").unlink(missing_ok=True)
    _FILE.write_bytes(content)
    try:
        with Backup(_FILE) as backup:
            assert [row[0] for row in backup.cooks()] == ["c"]
    except LogError as error:
        check_words(str(error))
    try:
        with Store(_FILE) as store:
            for entry in store.cooks():
                store.cook(entry.id)
            store.choices()
    except LogError as error:
        check_words(str(error))


TARGET = Target(
    check,
    (
        b"\x00",
        b"\x01",
        b"\x02SQLite format 3\x00",
        b"\x00\x00\x00\x44\x50",
        b"\x01\x00\x00\x12\xff",
        b"\x02",
    ),
    longest=200,
    weight=1.5,
)

"""The log of a running daemon: a file that cannot be used never keeps a cook from beginning."""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from random import Random

import pytest

from pullcall.errors import LogError, LogFormatError, LogInUseError
from pullcall.events import Call, CallKind, CookHeader, Reading
from pullcall.log.entries import Entry
from pullcall.log.live_store import LiveStore
from pullcall.log.store import Store
from tests.cooks import HEADER, two_steak_cook

WALL = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)
ASIDE = "cooks.db.20260613-134000"
OVER = CookHeader("over", "2026-06-12T13:40:00+00:00", simulated=True)
COOK = two_steak_cook(60.0)
CALL = Call(9.0, "c1", ("left",), CallKind.FLIP, 10.0, 2, "Left: flip in 10")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A log with a cook that is over and one that runs; nothing of it is ahead of the main file."""
    path = tmp_path / "cooks.db"
    with Store(path) as store:
        for header in (OVER, HEADER):
            store.begin(header, "boot", 1.0)
            store.write([Entry(header.cook, event) for event in COOK])
            store.write([Entry(header.cook, CALL)])
        store.end("over", "2026-06-12T15:00:00+00:00")
    return path


def goes_on(store: Store) -> None:
    """A cook can begin, and be written and read."""
    store.begin(CookHeader("new", HEADER.started), "boot", 2.0)
    store.write([Entry("new", Reading(1.0, None, 5.0, "p/1"))])
    assert store.cook("new").inputs == (Reading(1.0, None, 5.0, "p/1"),)


def made_a_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()
    (path / "something").write_text("of somebody")


def made_empty(path: Path) -> None:
    path.write_bytes(b"")


def made_a_text(path: Path) -> None:
    path.write_text("some text " * 1000)


def cut_off(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:10_000])


def without_a_table(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("DROP TABLE calls")
    db.close()


def of_no_owner(path: Path) -> None:
    """As if bits of its head had changed."""
    db = sqlite3.connect(path)
    db.execute("PRAGMA application_id = 5")
    db.close()


@pytest.mark.parametrize(
    "damage",
    [made_a_folder, made_empty, made_a_text, cut_off, without_a_table, of_no_owner],
)
def test_what_stands_in_its_place_is_kept_aside_and_a_cook_begins(
    path: Path, damage: Callable[[Path], None]
) -> None:
    damage(path)
    before = None if path.is_dir() else path.read_bytes()
    with LiveStore(path, WALL) as store:
        goes_on(store)
        assert store.notice is not None and ASIDE in store.notice
    aside = path.with_name(ASIDE)
    assert (aside / "something").exists() if before is None else aside.read_bytes() == before


def test_a_sound_log_is_used_as_it_is(path: Path) -> None:
    with LiveStore(path, WALL) as store:
        assert store.notice is None
        assert [entry.id for entry in store.cooks()] == ["over", HEADER.cook]
        goes_on(store)
    assert not path.with_name(ASIDE).exists()


def test_a_log_whose_disk_cannot_be_written_is_read_and_opened_again_at_each_write(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(path: Path) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    with monkeypatch.context() as broken:
        broken.setattr("pullcall.log.store.sole_writer", refused)
        store = LiveStore(path, WALL)
        for _ in range(2):
            with pytest.raises(LogError, match="Read-only file system"):
                store.write([])
            assert store.cook(HEADER.cook).inputs == tuple(COOK)
    with store:
        store.write([])
        goes_on(store)
        with pytest.raises(LogInUseError):
            Store(path)
    Store(path).close()


def test_two_logs_of_one_second_are_both_kept(path: Path) -> None:
    for _ in range(2):
        made_a_text(path)
        LiveStore(path, WALL).close()
    assert path.with_name(ASIDE).exists() and path.with_name(f"{ASIDE}-2").exists()


def test_what_is_ahead_of_the_main_file_is_kept_aside_with_it(path: Path) -> None:
    """SQLite itself deletes it beside an empty file."""
    ahead = path.with_name("cooks.db-wal")
    ahead.write_bytes(b"commits")
    made_empty(path)
    LiveStore(path, WALL).close()
    assert path.with_name(f"{ASIDE}-wal").read_bytes() == b"commits"


def test_the_cook_that_ran_is_read_from_a_log_that_lost_a_table(path: Path) -> None:
    without_a_table(path)
    with LiveStore(path, WALL) as store:
        assert [entry.id for entry in store.cooks()] == [HEADER.cook]
        assert list(store.cook(HEADER.cook).inputs) == COOK


def pages_of(path: Path, table: str) -> list[int]:
    db = sqlite3.connect(path)
    found = db.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)).fetchone()
    db.close()
    return [int(found[0])]


@pytest.mark.parametrize("table", ["records", "records_by_cook", "cooks", "calls", "calls_by_cook"])
def test_a_table_whose_root_is_gone_does_not_keep_a_cook_from_beginning(
    path: Path, table: str
) -> None:
    data = bytearray(path.read_bytes())
    for page in pages_of(path, table):
        data[(page - 1) * 4096 : page * 4096] = bytes(4096)
    path.write_bytes(data)
    with LiveStore(path, WALL) as store:
        assert store.notice is not None
        if table in ("calls", "calls_by_cook"):
            assert list(store.cook(HEADER.cook).inputs) == COOK
        goes_on(store)


def test_no_page_of_noise_anywhere_keeps_a_cook_from_beginning(path: Path) -> None:
    """Nor two of them; seeded. Damage in what nobody needs is not looked for."""
    whole, random = path.read_bytes(), Random(20260613)
    for _ in range(25):
        data = bytearray(whole)
        for _ in range(2):
            page = random.randrange(1, len(whole) // 4096)
            data[page * 4096 : (page + 1) * 4096] = random.randbytes(4096)
        for name in ("", "-wal", "-shm"):
            path.with_name(path.name + name).unlink(missing_ok=True)
        path.write_bytes(data)
        with LiveStore(path, WALL) as store:
            goes_on(store)


def test_a_bit_anywhere_in_its_head_keeps_no_cook_from_beginning(path: Path) -> None:
    """But for the version of the log, which is refused: it may be a later Pullcall's."""
    whole = path.read_bytes()
    for at in range(100):
        if 60 <= at < 64:
            continue
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 0x40]) + whole[at + 1 :])
        for name in ("-wal", "-shm"):
            path.with_name(path.name + name).unlink(missing_ok=True)
        with LiveStore(path, WALL) as store:
            goes_on(store)


def test_another_programs_database_and_one_in_use_stay_where_they_are(path: Path) -> None:
    with Store(path), pytest.raises(LogInUseError):
        LiveStore(path, WALL)
    other = path.with_name("other.db")
    db = sqlite3.connect(other)
    db.execute("CREATE TABLE recipes (name TEXT)")
    db.close()
    with pytest.raises(LogFormatError):
        LiveStore(other, WALL)


def test_a_log_of_another_user_is_kept_aside_and_the_cook_goes_on_from_it(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    access = os.access
    with monkeypatch.context() as patched:
        patched.setattr(os, "access", lambda file, mode: file != path and access(file, mode))
        with LiveStore(path, WALL) as store:
            assert "another user" in (store.notice or "")
            assert list(store.cook(HEADER.cook).inputs) == COOK
            goes_on(store)

"""What somebody names as the log and never was one stays where it is; a log of ours is known."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from pullcall.errors import LogFormatError
from pullcall.log.aside import check_named
from pullcall.log.live_store import LiveStore
from pullcall.log.store import Store

WALL = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)


def a_folder(path: Path) -> None:
    path.mkdir()
    (path / "letter.txt").write_text("of somebody")


def a_text(path: Path) -> None:
    path.write_text("milk, eggs, salt")


def a_link_to_a_folder(path: Path) -> None:
    a_folder(path.with_name("elsewhere"))
    path.symlink_to(path.with_name("elsewhere"))


@pytest.mark.parametrize(
    "make, says",
    [(a_folder, "is a folder"), (a_link_to_a_folder, "is a folder"), (a_text, "is no cook log")],
)
def test_what_never_was_a_log_is_refused_with_what_to_do(
    tmp_path: Path, make: Callable[[Path], None], says: str
) -> None:
    path = tmp_path / "named"
    make(path)
    with pytest.raises(LogFormatError, match=rf"{says}.*--log"):
        check_named(path)


def test_a_log_is_known_by_its_head_and_where_that_is_damaged_by_either_end_of_it(
    tmp_path: Path,
) -> None:
    path = tmp_path / "named"
    Store(path).close()
    path.with_name("named.lock").unlink()
    check_named(path)
    whole = path.read_bytes()
    path.write_bytes(bytes(16) + whole[16:])
    check_named(path)
    path.write_bytes(bytes(100) + whole[100:])
    with pytest.raises(LogFormatError):
        check_named(path)


@pytest.mark.parametrize("make", [a_folder, a_text])
def test_whatever_stands_where_a_log_was_written_before_is_no_slip(
    tmp_path: Path, make: Callable[[Path], None]
) -> None:
    path = tmp_path / "named"
    Store(path).close()
    path.unlink()
    make(path)
    check_named(path)


def test_an_empty_file_is_begun_as_a_log(tmp_path: Path) -> None:
    path = tmp_path / "named"
    path.touch()
    check_named(path)
    with LiveStore(path, WALL) as store:
        assert store.notice is None
        assert store.cooks() == ()
    assert [file.name for file in tmp_path.glob("named.2*")] == []


def test_a_link_to_nothing_yet_can_become_a_log(tmp_path: Path) -> None:
    path = tmp_path / "named"
    path.symlink_to(tmp_path / "later.db")
    check_named(path)
    with LiveStore(path, WALL) as store:
        assert store.notice is None


def test_another_programs_database_is_left_to_who_opens_it(tmp_path: Path) -> None:
    path = tmp_path / "named"
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE recipes (name TEXT)")
    db.close()
    check_named(path)
    with pytest.raises(LogFormatError, match="another program's"):
        LiveStore(path, WALL)

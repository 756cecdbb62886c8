"""What a backup of elsewhere may bring, and what no start of a site could go on with."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from pullcall.errors import LogFormatError
from pullcall.events import CookHeader, Reading
from pullcall.log.backup import back_up, restore
from pullcall.log.backup_file import DIGEST, digest_of
from pullcall.log.entries import Entry
from pullcall.log.foreign_rows import check_record
from pullcall.log.store import Store

DAY_S = 86400.0


def backup_with(tmp_path: Path, *statements: str, times: tuple[float, ...] = (1.0,)) -> Path:
    """A backup of a cook under way, changed by somebody who makes its digest too."""
    log, backup = tmp_path / "made.db", tmp_path / "made.backup"
    with Store(log) as store:
        store.begin(CookHeader("c", "2026-06-13T13:40:00+00:00"), "boot", 0.0)
        store.write([Entry("c", Reading(t, "left", 5.0)) for t in times])
    back_up(log, backup)
    with closing(sqlite3.connect(backup, isolation_level=None)) as db:
        for statement in statements:
            db.execute(statement)
        db.execute("UPDATE kept SET text = ? WHERE name = ?", (digest_of(db), DIGEST))
    return backup


def test_a_record_is_at_the_time_that_its_body_says() -> None:
    check_record(("c", 1.5, '{"record":"reading","t":1.5}'))
    check_record(("c", None, '{"record":"note"}'))
    for t, body in ((1.5, '{"t":-1e9}'), (1.5, "{}"), (None, '{"t":1.5}')):
        with pytest.raises(ValueError, match="at two times"):
            check_record(("c", t, body))


def test_a_backup_whose_records_hide_their_times_is_refused(tmp_path: Path) -> None:
    """The replay at a start goes by the body, second by second."""
    backup = backup_with(tmp_path, "UPDATE records SET body = replace(body, '1.0', '-1e8')")
    with pytest.raises(LogFormatError, match="two times"):
        restore(backup, tmp_path / "here.db")


@pytest.mark.parametrize("times", [(-DAY_S - 5.0, 1.0), (1.0, DAY_S + 5.0), (-50_000.0, 50_000.0)])
def test_a_restored_cook_of_more_than_a_day_is_over(
    tmp_path: Path, times: tuple[float, ...]
) -> None:
    """A start would go through every second of it."""
    restore(backup_with(tmp_path, times=times), tmp_path / "here.db")
    with Store(tmp_path / "here.db") as store:
        assert store.entry("c").ended is not None


def test_a_restored_cook_that_can_go_on_is_not_over(tmp_path: Path) -> None:
    restore(backup_with(tmp_path, times=(-5.0, 900.0)), tmp_path / "here.db")
    with Store(tmp_path / "here.db") as store:
        assert store.entry("c").ended is None


@pytest.mark.parametrize(
    "statements",
    [
        (
            "DROP INDEX records_by_cook",
            "CREATE INDEX records_by_cook ON records(cook, seq) WHERE length(hex(body)) > 1",
        ),
        (
            "DROP TABLE choices",
            "CREATE TABLE choices (seq INTEGER PRIMARY KEY, wall TEXT NOT NULL, name TEXT NOT NULL,"
            " mode TEXT NOT NULL, value REAL CHECK (length(hex(zeroblob(9))) > 1)) STRICT",
        ),
    ],
    ids=["an index", "a check"],
)
def test_a_backup_brings_nothing_to_be_worked_out_for_each_row(
    tmp_path: Path, statements: tuple[str, ...]
) -> None:
    """SQLite would do so as it looks whether the file is whole."""
    with pytest.raises(LogFormatError, match="damaged"):
        restore(backup_with(tmp_path, *statements), tmp_path / "here.db")


def test_a_table_whose_name_is_no_text_is_damage(tmp_path: Path) -> None:
    backup = backup_with(tmp_path)
    content = backup.read_bytes()
    assert b"records_by_cook" in content
    backup.write_bytes(content.replace(b"records_by_cook", b"records_by_\xff\xff\xff\xff"))
    with pytest.raises(LogFormatError, match="damaged"):
        restore(backup, tmp_path / "here.db")

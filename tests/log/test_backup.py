"""A backup is whole, brings back every byte, and changes nothing that was there."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from pullcall.errors import LogError, LogFormatError
from pullcall.events import Call, CallKind, CookHeader, Note, Reading
from pullcall.learning.choice import Choice, Mode
from pullcall.log.backup import back_up, restore
from pullcall.log.backup_file import DIGEST, Backup, digest_of, restored
from pullcall.log.entries import Entry
from pullcall.log.secrets_out import without_secrets
from pullcall.log.store import Store
from tests.cooks import HEADER

WALL = "2026-06-13T18:00:00+00:00"
CALL = Call(9.0, "c1", ("left", "right"), CallKind.FLIP, 10.0, 2, "Both: flip in 10")
CONFIG = """\
[bluetooth]
only = ["AA:BB:CC:DD:EE:01"]
bthome_keys = { "AA:BB:CC:DD:EE:01" = "0123456789abcdef0123456789abcdef" }

[webhook]
url = "https://pit.example/hear?token=whisper"
# the old secret was "smoke"
secret = "hickory"
backup_only = true
"""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Two cooks that ended and one under way, with calls, notes and choices."""
    path = tmp_path / "here" / "cooks.db"
    with Store(path) as store:
        for name in ("one", "two", "three"):
            store.begin(CookHeader(name, HEADER.started), f"boot of {name}", 12.5)
            store.write([Entry(name, Reading(k / 2, "left", 5.0)) for k in range(2000)])
            store.write([Entry(name, CALL)])
            store.note(name, [Note(WALL, None, "notes", f"¼ of {name}\n\u2028ends")])
        store.end("one", "2026-06-13T14:00:00+00:00")
        store.end("two", "2026-06-13T15:00:00+00:00")
        store.choose(Choice(WALL, "reaction", Mode.OWN, 2.5))
    return path


def _all_of(path: Path) -> dict[str, object]:
    with Store(path, reads_only=True) as store:
        entries = store.cooks()
        texts = {e.id: (e, store.lines(e.id), store.call_lines(e.id)) for e in entries}
        return {**texts, "choices": store.choices()}


def test_an_empty_machine_gets_every_byte_back(log: Path, tmp_path: Path) -> None:
    assert back_up(log, tmp_path / "all.backup") == 3
    there = tmp_path / "there" / "cooks.db"
    assert restore(tmp_path / "all.backup", there) == restored(3, 0)
    assert _all_of(there) == _all_of(log)


def test_it_is_one_moment_of_a_log_that_is_being_written(log: Path, tmp_path: Path) -> None:
    before = _all_of(log)
    steps: list[tuple[int, int]] = []
    with Store(log) as writer:

        def write_on(done: int, pages: int) -> None:
            steps.append((done, pages))
            writer.write([Entry("three", Reading(5000.0 + len(steps), "left", 50.0))] * 500)

        back_up(log, tmp_path / "all.backup", progress=write_on)
        assert len(writer.cook("three").inputs) == 2000 + 500 * len(steps)
    assert len(steps) > 1
    assert steps[-1][0] == steps[-1][1]
    restore(tmp_path / "all.backup", tmp_path / "there.db")
    assert _all_of(tmp_path / "there.db") == before


_KILLED = """
import os, signal, sys
from pathlib import Path
from pullcall.events import Reading
from pullcall.log.backup import back_up
from pullcall.log.entries import Entry
from pullcall.log.store import Store
log, to, at = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
store = Store(log)
store.write([Entry("three", Reading(5000.0, "left", 50.0))])
if at == "writing":
    os.kill(os.getpid(), signal.SIGKILL)
back_up(log, to, progress=lambda done, pages: os.kill(os.getpid(), signal.SIGKILL))
"""


def _kill(log: Path, to: Path, at: str) -> None:
    root = Path(__file__).parents[2]
    search = os.pathsep.join(str(root / part) for part in ("daemon", "api", "simulators", "."))
    command = [sys.executable, "-c", _KILLED, str(log), str(to), at]
    done = subprocess.run(command, env=os.environ | {"PYTHONPATH": search}, check=False)
    assert done.returncode == -signal.SIGKILL


def test_what_a_killed_writer_had_acknowledged_is_in_the_backup(log: Path, tmp_path: Path) -> None:
    _kill(log, tmp_path / "all.backup", "writing")
    back_up(log, tmp_path / "all.backup")
    restore(tmp_path / "all.backup", tmp_path / "there.db")
    with Store(tmp_path / "there.db") as store:
        assert store.cook("three").inputs[-1].t == 5000.0


def test_a_backup_that_was_killed_leaves_no_half_file_under_its_name(
    log: Path, tmp_path: Path
) -> None:
    to = tmp_path / "all.backup"
    _kill(log, to, "backing up")
    assert not to.exists()
    assert back_up(log, to) == 3
    assert sorted(path.name for path in tmp_path.iterdir()) == ["all.backup", "here"]


def test_nothing_that_the_log_has_is_overwritten(log: Path, tmp_path: Path) -> None:
    back_up(log, tmp_path / "all.backup")
    there = tmp_path / "there.db"
    with Store(there) as store:
        store.begin(CookHeader("two", "2026-01-01T00:00:00Z"), "boot", 0.0)
        store.choose(Choice(WALL, "reaction", Mode.DEFAULT))
        mine = store.lines("two")
        with Backup(tmp_path / "all.backup") as backup:
            brought = store.take_in(backup)
        assert brought == restored(2, 1)
        assert brought.words == "2 cooks were added, 1 was in the log already."
        assert store.lines("two") == mine
        assert store.choices() == (Choice(WALL, "reaction", Mode.DEFAULT),)
        with Backup(tmp_path / "all.backup") as backup:
            assert store.take_in(backup) == restored(0, 3)


def test_a_backup_of_a_log_of_the_first_version_is_restored(log: Path, tmp_path: Path) -> None:
    db = sqlite3.connect(log)
    db.executescript("DROP TABLE choices; PRAGMA user_version = 1;")
    db.close()
    back_up(log, tmp_path / "all.backup")
    assert restore(tmp_path / "all.backup", tmp_path / "there.db") == restored(3, 0)


def test_one_changed_byte_anywhere_is_noticed(log: Path, tmp_path: Path) -> None:
    whole = tmp_path / "all.backup"
    back_up(log, whole)
    data = whole.read_bytes()
    at = data.index(b'"celsius":5.0')
    changes = [
        data[: len(data) // 2],
        data[: at + 10] + b"9" + data[at + 11 :],
        data[:8192] + bytes(4096) + data[12288:],
    ]
    for number, change in enumerate(changes):
        bad = tmp_path / f"{number}.backup"
        bad.write_bytes(change)
        with pytest.raises(LogFormatError, match="damaged: nothing was changed"):
            restore(bad, tmp_path / "there.db")
    assert not (tmp_path / "there.db").exists()


@pytest.mark.parametrize(
    "change",
    [
        "CREATE TRIGGER odd AFTER INSERT ON cooks BEGIN DELETE FROM cooks; END",
        "CREATE VIEW odd AS SELECT * FROM cooks",
        "CREATE TABLE odd (name TEXT)",
        "DROP TABLE choices",
        "ALTER TABLE cooks ADD COLUMN odd TEXT",
        "UPDATE kept SET text = 'odd'",
        "DELETE FROM records WHERE seq = 7",
    ],
)
def test_a_backup_that_somebody_changed_is_refused(log: Path, tmp_path: Path, change: str) -> None:
    backup = tmp_path / "all.backup"
    back_up(log, backup)
    db = sqlite3.connect(backup)
    with db:
        db.execute(change)
    db.close()
    with pytest.raises(LogFormatError, match="damaged"):
        Backup(backup)


def _crafted(backup: Path, change: str) -> None:
    """The change with a digest to match."""
    with closing(sqlite3.connect(backup)) as db, db:
        db.execute(change)
        db.execute("UPDATE kept SET text = ? WHERE name = ?", (digest_of(db), DIGEST))


@pytest.mark.parametrize(
    "change",
    [
        "INSERT INTO choices VALUES (9, '', 'band', 'surprising', NULL)",
        "INSERT INTO choices VALUES (9, '', 'band', 'own', 1e300)",
        "INSERT INTO choices VALUES (9, '', 'band', 'own', 9e999)",
        "UPDATE cooks SET header = '{}' WHERE id = 'one'",
        "UPDATE cooks SET header = replace(header, 'one', 'other') WHERE id = 'one'",
        "UPDATE cooks SET header = replace(header, '2026', 'x') WHERE id = 'three'",
        "UPDATE cooks SET zero_monotonic = 9e999",
        "UPDATE records SET t = 9e999 WHERE seq = 7",
        "UPDATE records SET body = '[1]' WHERE seq = 7",
        "UPDATE records SET body = '{\"record\":' WHERE seq = 7",
        "UPDATE records SET body = '{\"a\":' || replace(hex(zeroblob(50)), '0', '[') ||"
        " replace(hex(zeroblob(50)), '0', ']') || '}' WHERE seq = 7",
        "UPDATE calls SET body = '7'",
    ],
)
def test_a_backup_that_a_start_would_stumble_over_is_refused(
    log: Path, tmp_path: Path, change: str
) -> None:
    backup = tmp_path / "all.backup"
    back_up(log, backup)
    _crafted(backup, change)
    with pytest.raises(LogFormatError, match="nothing was changed"):
        restore(backup, tmp_path / "there.db")
    assert not (tmp_path / "there.db").exists()


def test_a_crafted_change_that_harms_nobody_is_let_in(log: Path, tmp_path: Path) -> None:
    backup = tmp_path / "all.backup"
    back_up(log, backup)
    _crafted(backup, "INSERT INTO choices VALUES (9, '', 'band', 'own', 1.5)")
    _crafted(
        backup,
        'UPDATE records SET t = NULL, body = \'{"text":"[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[["}\'',
    )
    assert restore(backup, tmp_path / "there.db") == restored(3, 0)


@pytest.mark.parametrize(("last", "is_over"), [(80_000.0, False), (90_000.0, True), (9e8, True)])
def test_a_cook_that_no_start_could_catch_up_with_is_over(
    log: Path, tmp_path: Path, last: float, is_over: bool
) -> None:
    backup = tmp_path / "all.backup"
    back_up(log, backup)
    body = f"replace(body, '\"t\":0.0', '\"t\":{last}')"
    _crafted(backup, f"UPDATE records SET t = {last}, body = {body} WHERE t = 0.0")
    restore(backup, tmp_path / "there.db")
    with Store(tmp_path / "there.db") as store:
        assert (store.entry("three").ended is not None) == is_over


def test_other_files_are_no_backup(log: Path, tmp_path: Path) -> None:
    text = tmp_path / "text"
    text.write_text("not a database at all" * 100)
    (tmp_path / "empty").touch()
    for other in (text, tmp_path / "empty", log):
        with pytest.raises(LogFormatError, match="no backup of Pullcall"):
            restore(other, tmp_path / "there.db")
    with pytest.raises(LogError, match="check the path"):
        restore(tmp_path / "none", tmp_path / "there.db")
    with pytest.raises(LogFormatError, match="pullcall restore"):
        back_up(log, tmp_path / "all.backup")
        Store(tmp_path / "all.backup")


def test_only_an_earlier_backup_is_replaced(log: Path, tmp_path: Path) -> None:
    text = tmp_path / "text"
    text.write_text("precious")
    before = log.read_bytes()
    for other in (text, log, tmp_path):
        with pytest.raises(LogError, match="give another name"):
            back_up(log, other)
    assert (text.read_text(), log.read_bytes()) == ("precious", before)
    back_up(log, tmp_path / "all.backup")
    back_up(log, tmp_path / "all.backup")
    (tmp_path / "empty").touch()
    back_up(log, tmp_path / "empty")


def test_what_cannot_be_written_says_so(log: Path, tmp_path: Path) -> None:
    with pytest.raises(LogError, match="give another"):
        back_up(log, tmp_path / "none" / "all.backup")
    with pytest.raises(LogError, match="There is no cook log"):
        back_up(tmp_path / "none.db", tmp_path / "all.backup")


def test_settings_are_kept_without_their_secrets(log: Path, tmp_path: Path) -> None:
    back_up(log, tmp_path / "all.backup", CONFIG)
    with Backup(tmp_path / "all.backup") as backup:
        kept = backup.config()
    assert kept == ('[bluetooth]\nonly = ["AA:BB:CC:DD:EE:01"]\n\n[webhook]\nbackup_only = true\n')
    data = (tmp_path / "all.backup").read_bytes()
    assert not any(word in data for word in (b"hickory", b"whisper", b"smoke", b"0123456789abcdef"))


@pytest.mark.parametrize(
    "config",
    [
        "not TOML [",
        "a = " + "[" * 3000,
        "a = " + "9" * 5000,
        'webhook = { backup_only = true, secret = "hickory" }',
        '[webhook]\nsecret = """\nhickory\n"""',
        '[webhook]\n"secr\\u0065t" = "hickory"',
    ],
)
def test_settings_whose_secrets_cannot_be_told_apart_are_left_out(config: str) -> None:
    assert without_secrets(config) is None

"""The SQLite log keeps what it acknowledged and refuses what is not its own."""

from __future__ import annotations

import os
import resource
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from pytest import LogCaptureFixture

from pullcall.errors import LogError, LogFormatError
from pullcall.events import Call, CallKind, CookHeader, Mark, MarkKind, Note, Reading, Setting
from pullcall.learning.choice import Choice, Mode
from pullcall.log.cook_file import CookFile, parse_cook_lines
from pullcall.log.entries import Entry, Moved
from pullcall.log.stand import Stand
from pullcall.log.store import Store
from tests.cooks import HEADER, two_steak_cook

WALL = "2026-06-13T18:00:00+00:00"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "folder" / "cooks.db"


def test_a_cook_is_read_back_as_it_was_logged(path: Path) -> None:
    readings = [Reading(float(t), "left", 5.0 + t) for t in range(5)]
    with Store(path) as store:
        store.begin(HEADER, "boot", 12.5)
        store.write([Entry(HEADER.cook, reading) for reading in readings])
    with Store(path) as store:
        cook = store.cook(HEADER.cook)
        (entry,) = store.cooks()
    assert cook.header == HEADER
    assert list(cook.inputs) == readings
    assert (entry.boot, entry.zero_monotonic, entry.ended) == ("boot", 12.5, None)


def test_it_writes_ahead_and_waits_for_the_disk(path: Path) -> None:
    with Store(path):
        db = sqlite3.connect(path)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        db.close()


def test_calls_are_kept_in_order(path: Path) -> None:
    call = Call(9.0, "c1", ("left", "right"), CallKind.FLIP, 10.0, 2, "Both: flip in 10")
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
        store.write([Entry(HEADER.cook, call)])
        assert store.call_lines(HEADER.cook) == [
            '{"t":9.0,"steak":["left","right"],"call":"flip","in_s":10.0,"priority":2,'
            '"text":"Both: flip in 10","id":"c1"}'
        ]


def test_an_imported_cook_keeps_every_key_it_had(path: Path) -> None:
    lines = [
        '{"record":"cook","version":1,"cook":"c","started":"2026-06-13T13:40:00Z",'
        '"steaks":[{"steak":"left","thickness_mm":32.0,"start_c":5.0,"pull_c":53.9}],'
        '"rest_on":"rack","plan":[{"t":120.0,"mark":"turn"}],"pit":"three"}',
        '{"record":"weather","t":1.0,"wind":"north"}',
        '{"record":"reading","t":2.0,"steak":"left","celsius":8.1,"humidity":40}',
    ]
    with Store(path) as store:
        store.bring_in(parse_cook_lines(lines), "2026-06-13T15:00:00Z")
        assert store.lines("c") == lines


def test_importing_a_cook_twice_is_refused_and_changes_nothing(path: Path) -> None:
    cook = parse_cook_lines(
        ['{"record":"cook","version":1,"cook":"c","started":"x","steaks":[{"steak":"left"}]}']
    )
    with Store(path) as store:
        store.bring_in(cook, "now")
        with pytest.raises(LogError, match="already: nothing was changed"):
            store.bring_in(cook, "now")
        assert len(store.cooks()) == 1


@pytest.mark.parametrize("odd", ["a/b", "-h", ".", "a b", "last", "n" * 81, "é", "a?b", "%2e"])
def test_a_cook_with_an_id_nobody_could_name_is_not_imported_but_read(path: Path, odd: str) -> None:
    header = CookHeader(odd, HEADER.started)
    with Store(path) as store:
        with pytest.raises(LogFormatError, match="line 1"):
            store.bring_in(CookFile(header, (), (), ()), WALL)
        assert store.cooks() == ()
        store.begin(header, "boot", 0.0)
        assert store.cook(odd).header == header


@pytest.mark.parametrize("usual", ["c", "20260613-134000-9f3a", "cook_1.b", "n" * 80])
def test_usual_ids_are_imported(path: Path, usual: str) -> None:
    with Store(path) as store:
        store.bring_in(CookFile(CookHeader(usual, HEADER.started), (), (), ()), WALL)
        assert [entry.id for entry in store.cooks()] == [usual]


def test_another_programs_database_is_left_alone(path: Path) -> None:
    path.parent.mkdir()
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE recipes (name TEXT)")
    db.close()
    before = path.read_bytes()
    with pytest.raises(LogFormatError, match="another program's database"):
        Store(path)
    assert path.read_bytes() == before


def test_a_log_of_another_version_is_left_alone(path: Path) -> None:
    Store(path).close()
    db = sqlite3.connect(path)
    db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(LogFormatError, match="another version of Pullcall"):
        Store(path)


def test_a_file_that_is_no_database_says_what_to_do(path: Path) -> None:
    path.parent.mkdir()
    path.write_bytes(b"not a database at all" * 100)
    with pytest.raises(LogError, match="move it aside"):
        Store(path)


def test_a_second_writer_is_refused_but_a_reader_is_not(path: Path) -> None:
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
        with pytest.raises(LogError, match="Another Pullcall is writing"):
            Store(path)
        with Store(path, reads_only=True) as reader:
            assert [entry.id for entry in reader.cooks()] == [HEADER.cook]
            with pytest.raises(LogError):
                reader.end(HEADER.cook, "now")
    Store(path).close()


def test_an_import_that_fails_leaves_nothing_behind(path: Path) -> None:
    lines = [
        '{"record":"cook","version":1,"cook":"c","started":"x","steaks":[{"steak":"left"}]}',
        '{"record":"remark","t":"later"}',
        '{"record":"reading","t":1.0,"steak":"left","celsius":5.0}',
    ]
    with Store(path) as store:
        store.bring_in(parse_cook_lines(lines), "now")
        assert store.lines("c")[1:] == lines[1:]


def test_a_cook_whose_header_is_broken_is_passed_over(path: Path) -> None:
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
    db = sqlite3.connect(path)
    db.execute("INSERT INTO cooks VALUES ('odd', '2027', '{}', 'b', 0.0, NULL)")
    db.commit()
    db.close()
    with Store(path) as store:
        assert [entry.id for entry in store.cooks()] == [HEADER.cook]


def _ids(store: Store) -> list[str]:
    return [entry.id for entry in store.cooks()]


def test_cooks_go_by_the_moment_they_began_whatever_their_offset(path: Path) -> None:
    with Store(path) as store:
        store.begin(CookHeader("second", "2026-06-13T09:00:00-04:00"), "boot", 0.0)
        store.begin(CookHeader("first", "2026-06-13T14:30:00+02:00"), "boot", 0.0)
        store.begin(CookHeader("third", "2026-06-13T13:30:00Z"), "boot", 0.0)
        assert _ids(store) == ["first", "second", "third"]


def test_a_start_that_is_set_right_counts_and_one_never_known_stays_in_its_row(
    path: Path, tmp_path: Path
) -> None:
    right = Setting(9.0, None, "started", "2026-06-13T13:30:00Z")
    unset = "1970-01-01T00:00:09+00:00"
    with Store(path) as store:
        store.begin(CookHeader("last-year", "2025-06-13T13:30:00Z"), "boot", 0.0)
        store.begin(CookHeader("never", unset), "boot", 0.0)
        store.begin(CookHeader("odd", "x"), "boot", 0.0)
        store.begin(CookHeader("learned", unset), "boot", 0.0)
        store.write([Entry("learned", right)])
        store.begin(CookHeader("spring", "2026-04-13T13:30:00Z"), "boot", 0.0)
        wanted = ["last-year", "never", "odd", "spring", "learned"]
        assert _ids(store) == wanted
        learned = store.cook("learned")
    db = sqlite3.connect(path)
    db.execute("UPDATE cooks SET started = ? WHERE id = 'learned'", (unset,))
    db.executescript("DROP TABLE choices; PRAGMA user_version = 1;")
    db.close()
    with Store(path) as store:
        assert _ids(store) == wanted, "a log of the first version is set right"
    with Store(tmp_path / "other.db") as other:
        other.begin(CookHeader("spring", "2026-04-13T13:30:00Z"), "boot", 0.0)
        other.begin(CookHeader("last-year", "2025-06-13T13:30:00Z"), "boot", 0.0)
        other.bring_in(learned, WALL)
        assert _ids(other) == ["last-year", "spring", "learned"]


def test_a_folder_that_cannot_be_made_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(LogError, match="--log"):
        Store(tmp_path / "file" / "cooks.db")


def test_an_unknown_cook_says_where_to_look(path: Path) -> None:
    with Store(path) as store, pytest.raises(LogError, match="pullcall logbook"):
        store.lines("nothing")


def test_notes_are_read_back_and_change_no_input(path: Path) -> None:
    notes = [
        Note(WALL, None, "place", "Riverside"),
        Note(WALL, None, "tags", ("windy", "new coal")),
        Note(WALL, "left", "weight_g", 480.0),
        Note(WALL, "left", "weight_g", None),
    ]
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
        store.write([Entry(HEADER.cook, Reading(1.0, "left", 5.0))])
        store.note(HEADER.cook, notes)
        store.write([Entry(HEADER.cook, Reading(2.0, "left", 6.0))])
        cook = store.cook(HEADER.cook)
    assert list(cook.notes) == notes
    assert [event.t for event in cook.inputs] == [1.0, 2.0]


def test_a_cook_with_notes_is_imported_and_exported_to_the_byte(path: Path, tmp_path: Path) -> None:
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
        for t in (1.0, 2.0, 3.0):
            store.note(HEADER.cook, [Note(WALL, None, "notes", f"before {t}\n=second line")])
            store.write([Entry(HEADER.cook, Reading(t, "left", 5.0))])
        store.note(HEADER.cook, [Note(WALL, None, "score.taste", 8.5)])
        lines = store.lines(HEADER.cook)
    with Store(tmp_path / "other.db") as other:
        other.bring_in(parse_cook_lines(lines), "now")
        assert other.lines(HEADER.cook) == lines
        assert len(other.cook(HEADER.cook).notes) == 4


def test_a_note_for_an_unknown_cook_is_refused(path: Path) -> None:
    with Store(path) as store, pytest.raises(LogError, match="pullcall logbook"):
        store.note("nothing", [Note(WALL, None, "place", "Riverside")])


def test_of_a_deleted_cook_no_file_holds_a_word(path: Path) -> None:
    cooks = [CookHeader(f"cook-{n:02}", f"start {n:02}" * 40) for n in range(12)]
    with Store(path) as store:
        for n, header in enumerate(cooks):
            word = f"word{n:02}"
            call = Call(9.0, "c1", (), CallKind.FLIP, 10.0, 2, word)
            store.begin(header, "boot", 0.0)
            readings = [Entry(header.cook, Reading(1.0, word, 5.0, word)) for _ in range(100 + n)]
            store.write([*readings, Entry(header.cook, call)])
            store.write([Entry(header.cook, Moved("the boot after a restart", 1.0))])
            store.end(header.cook, WALL)
            store.note(cooks[n // 2].cook, [Note(WALL, None, "notes", f"word{n // 2:02}" * 30)])
        kept = store.lines("cook-07")
        for n in (3, 11, 0, 4, 8, 5, 1):
            store.delete(cooks[n].cook)
            store.wipe()
            found = [
                word
                for file in path.parent.iterdir()
                for word in (f"word{n:02}", f"cook-{n:02}", f"start {n:02}")
                if word.encode() in file.read_bytes()
            ]
            assert found == []
        assert store.lines("cook-07") == kept
        assert len(store.cooks()) == 5
        with pytest.raises(LogError, match="has no cook"):
            store.delete("cook-03")


def test_a_cook_that_goes_on_is_not_deleted(path: Path) -> None:
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
        with pytest.raises(LogError, match="end it first"):
            store.delete(HEADER.cook)
        assert len(store.cooks()) == 1
        store.delete(HEADER.cook, is_over=True)
        assert store.cooks() == ()


def test_a_cook_is_deleted_while_somebody_reads(path: Path, caplog: LogCaptureFixture) -> None:
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
        db = sqlite3.connect(path, isolation_level=None)
        db.execute("BEGIN")
        db.execute("SELECT * FROM cooks").fetchone()
        store.delete(HEADER.cook, is_over=True)
        store.wipe()
        assert "until whoever reads it is done" in caplog.text
        db.close()
    assert HEADER.cook.encode() not in path.read_bytes()


def test_a_disk_without_room_says_so_and_the_cook_is_deleted_again(path: Path) -> None:
    with Store(path) as store:
        for name in ("gone", "kept"):
            store.begin(CookHeader(name, HEADER.started), "boot", 0.0)
            store.write([Entry(name, Reading(1.0, name, 5.0)) for _ in range(4000)])
        store.delete("gone", is_over=True)
        with _small_disk(), pytest.raises(LogError, match="make room"):
            store.wipe()
    with Store(path) as store:
        assert store.has_traces(), "also after a start"
        store.delete("gone")
        store.wipe()
        assert not store.has_traces()
        with pytest.raises(LogError, match="has no cook"):
            store.delete("gone")
        assert len(store.cook("kept").inputs) == 4000
    assert b"gone" not in path.read_bytes()


@contextmanager
def _small_disk() -> Iterator[None]:
    """No file grows beyond a few pages."""
    usual = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (16_384, usual[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, usual)


def test_the_latest_choice_of_a_lesson_stands(path: Path) -> None:
    with Store(path) as store:
        store.choose(Choice(WALL, "reaction", Mode.OWN, 2.5))
        store.choose(Choice(WALL, "band", Mode.LEARNED))
        store.choose(Choice(WALL, "reaction", Mode.DEFAULT))
    with Store(path, reads_only=True) as store:
        assert store.choices() == (
            Choice(WALL, "band", Mode.LEARNED),
            Choice(WALL, "reaction", Mode.DEFAULT),
        )


@pytest.mark.parametrize("odd", ["'surprising', NULL", "'own', 1e300", "'own', 9e999"])
def test_a_choice_that_cannot_be_read_is_passed_over(
    path: Path, odd: str, caplog: LogCaptureFixture
) -> None:
    with Store(path) as store:
        store.choose(Choice(WALL, "band", Mode.LEARNED))
        db = sqlite3.connect(path)
        db.execute(f"INSERT INTO choices VALUES (9, 'now', 'band', {odd})")
        db.commit()
        db.close()
        assert store.choices() == (Choice(WALL, "band", Mode.LEARNED),)
    assert "passed over" in caplog.text


def test_a_log_of_the_first_version_is_read_and_upgraded_only_to_write(path: Path) -> None:
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
    db = sqlite3.connect(path)
    db.executescript("DROP TABLE choices; PRAGMA user_version = 1;")
    db.close()
    with Store(path, reads_only=True) as store:
        assert store.choices() == ()
        assert [entry.id for entry in store.cooks()] == [HEADER.cook]
    assert _version_of(path) == 1
    with Store(path) as store:
        store.choose(Choice(WALL, "band", Mode.LEARNED))
        assert [entry.id for entry in store.cooks()] == [HEADER.cook]
    assert _version_of(path) == 2


def _version_of(path: Path) -> int:
    db = sqlite3.connect(path)
    version: int = db.execute("PRAGMA user_version").fetchone()[0]
    db.close()
    return version


_WRITER = """
import sys
from pathlib import Path
from pullcall.events import Reading
from pullcall.log.stand import Stand
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from tests.cooks import HEADER, two_steak_cook
store = Store(Path(sys.argv[1]))
store.begin(HEADER, "boot", 0.0)
for k in range(100000):
    store.write([Entry(HEADER.cook, Reading(float(k), "left", 5.0))])
    print(k, flush=True)
"""


def test_no_acknowledged_record_is_lost_by_a_kill(path: Path) -> None:
    root = Path(__file__).parents[2]
    search = os.pathsep.join(str(root / part) for part in ("daemon", "api", "simulators", "."))
    process = subprocess.Popen(
        [sys.executable, "-c", _WRITER, str(path)],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": search},
    )
    assert process.stdout is not None
    acknowledged = -1
    for line in process.stdout:
        acknowledged = int(line)
        if acknowledged == 200:
            process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()
    with Store(path) as store:
        logged = [e.t for e in store.cook(HEADER.cook).inputs]
    assert logged == [float(k) for k in range(len(logged))]
    assert len(logged) >= acknowledged + 1


def test_how_far_a_cook_has_come_counts_what_has_a_time_and_what_came_since_anything_was_done(
    path: Path,
) -> None:
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
        assert store.stand(HEADER.cook).count == 0
        store.write(Entry(HEADER.cook, event) for event in two_steak_cook(10.0))
        whole = store.stand(HEADER.cook)
        assert whole.count == len(two_steak_cook(10.0))
        assert whole.since == whole.count - 1, "the first record is the mark"
        store.note(HEADER.cook, [Note("2026-06-13T15:00:00+00:00", None, "place", "Alder Ford")])
        assert store.stand(HEADER.cook) == whole
        store.write([Entry(HEADER.cook, Mark(11.0, "left", MarkKind.OFF, "off"))])
        assert store.stand(HEADER.cook) == Stand(whole.header, whole.count + 1, 0)

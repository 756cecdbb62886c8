"""What spills outlives the process, whole lines only, and comes into the log exactly once."""

from __future__ import annotations

import errno
from pathlib import Path
from zlib import crc32

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.errors import LogFormatError
from pullcall.events import Call, CallKind, CookHeader, Mark, MarkKind, Note, Reading
from pullcall.log.entries import Begun, Ended, Entry, Moved, Place
from pullcall.log.records import to_line
from pullcall.log.spill import Spill, joined, spill_beside, spill_in_memory, waiting_in
from pullcall.log.spill_file import RESERVED, SpillFile
from pullcall.log.spill_lines import (
    VERSION,
    Heading,
    SpilledPart,
    as_spilled,
    entry_line,
    heading_line,
    read_lines,
)
from pullcall.log.store import Store
from tests.cooks import HEADER

CALL = Call(9.0, "c1", ("left", "right"), CallKind.FLIP, 10.0, 2, "Both: flip in 10 — now")
ENTRIES = [
    Entry("new", Begun(CookHeader("new", HEADER.started), "boot", 12.5)),
    Entry("new", Mark(1.0, "späť", MarkKind.ON, "on")),
    Entry("new", Reading(2.0, "left", 5.25, "p/1")),
    Entry("new", Reading(2.0, "left", 5.25, "p/1")),
    Entry("new", CALL),
    Entry("new", Moved("boot-2", 3.5)),
    Entry("new", Ended("2026-06-13T15:00:00+00:00")),
]
HEADING = Heading("a1", 7, Place(3, 4))


def lines(heading: Heading = HEADING, entries: list[Entry] = ENTRIES) -> bytes:
    return heading_line(heading) + b"".join(entry_line(heading.spill, e) for e in entries)


def part_of(data: bytes) -> SpilledPart | None:
    """What is read of a file with these bytes."""
    try:
        found = read_lines(data)
    except LogFormatError:
        return None
    return None if found is None else found[0]


def as_text(entries: list[Entry]) -> tuple[Entry, ...]:
    return tuple(Entry(entry.cook, as_spilled(entry.what)) for entry in entries)


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "run").mkdir()
    monkeypatch.setenv("RUNTIME_DIRECTORY", str(tmp_path / "run"))
    return tmp_path / "cooks.db"


# Lines


def test_what_was_written_is_read_again() -> None:
    assert part_of(lines()) == SpilledPart(HEADING, as_text(ENTRIES))


def test_a_file_of_which_nothing_or_only_room_is_there_holds_no_spill() -> None:
    for data in (b"", bytes(RESERVED)):
        assert read_lines(data) is None


def test_what_is_no_spill_of_this_version_is_not_taken_for_an_empty_one() -> None:
    other = to_line({"version": VERSION + 1, "spill": "a1", "first": 0, "after": [0, 0]})
    for data in (b"some text\n", f"{crc32(f' {other}'.encode()):08x} {other}\n".encode()):
        with pytest.raises(LogFormatError, match="another version"):
            read_lines(data)


@given(st.integers(0, len(lines())))
def test_wherever_it_was_torn_the_whole_lines_before_are_read(cut: int) -> None:
    whole = lines()[:cut].count(b"\n") - 1
    part = part_of(lines()[:cut] + bytes(100))
    assert part == (SpilledPart(HEADING, as_text(ENTRIES)[:whole]) if whole >= 0 else None)


@given(st.integers(0, len(lines()) - 1), st.integers(1, 255))
def test_a_byte_that_changed_is_seen(at: int, change: int) -> None:
    data = bytearray(lines())
    data[at] ^= change
    changed = lines()[:at].count(b"\n") - 1
    part = part_of(bytes(data))
    assert part == (SpilledPart(HEADING, as_text(ENTRIES)[:changed]) if changed >= 0 else None)


def test_lines_of_an_earlier_spill_behind_those_of_a_later_one_are_not_read() -> None:
    first, later = lines(), lines(Heading("b2", 7, Place()), ENTRIES[:2])
    for behind in (first[len(later) :], first[first.index(b"\n", len(later)) + 1 :]):
        part = part_of(later + behind)
        assert part is not None and part.entries == as_text(ENTRIES[:2])


# Files


def test_a_spill_goes_on_in_its_file_and_begins_anew_once_the_log_has_what_it_holds(
    log: Path,
) -> None:
    file = SpillFile(spill_beside(log))
    file.reserve()
    file.append(Heading("a1", 0, Place()), ENTRIES[:2])
    file.append(Heading("a1", 0, Place()), ENTRIES[:4])
    file.append(Heading("a1", 1, Place()), ENTRIES[1:3])  # as if it had been late
    assert file.read() == SpilledPart(Heading("a1", 0, Place()), as_text(ENTRIES[:4]))
    file.append(Heading("a1", 5, Place(3, 1)), ENTRIES[5:])
    assert file.read() == SpilledPart(Heading("a1", 5, Place(3, 1)), as_text(ENTRIES[5:]))
    assert file.path.stat().st_size == RESERVED
    assert file.path.stat().st_mode & 0o777 == 0o600
    file.empty()
    assert file.read() is None
    file.close()
    assert not file.path.exists()


def test_a_file_that_holds_something_stays_when_it_is_let_go_and_is_gone_on_with(
    log: Path,
) -> None:
    file = SpillFile(spill_beside(log))
    file.append(Heading("a1", 0, Place()), ENTRIES[:2])
    file.close()
    again = SpillFile(spill_beside(log))
    assert again.take_up() is not None
    again.append(Heading("a1", 0, Place()), ENTRIES)
    assert again.read() == SpilledPart(Heading("a1", 0, Place()), as_text(ENTRIES))


def test_a_spill_that_changed_its_file_is_one_again(log: Path) -> None:
    spill = Spill(log)
    assert spill.memory is not None
    spill.memory.append(Heading("a1", 0, Place()), ENTRIES[:4])
    spill.disk.append(Heading("a1", 2, Place(1, 0)), ENTRIES[2:])
    (left,) = Spill(log).left()
    assert (left.first, left.after, left.entries) == (0, Place(), as_text(ENTRIES))


def test_no_line_of_an_earlier_time_is_read_behind_those_of_a_later_one(log: Path) -> None:
    file = SpillFile(spill_beside(log))
    readings = [Entry("c", Reading(float(n), None, 5.0, "p/1")) for n in range(1, 7)]
    file.append(Heading("a1", 0, Place()), readings[:4])
    file.append(Heading("a1", 5, Place(4, 0)), readings[5:])  # as long as the first was
    assert file.read() == SpilledPart(Heading("a1", 5, Place(4, 0)), as_text(readings[5:]))


@pytest.mark.parametrize("is_taken_up", [False, True])
def test_once_it_is_emptied_no_text_is_left_in_it(log: Path, is_taken_up: bool) -> None:
    file = SpillFile(spill_beside(log))
    file.append(Heading("a1", 0, Place()), [*ENTRIES, *ENTRIES])
    file.append(Heading("a1", 20, Place()), ENTRIES[:1])
    if is_taken_up:
        file = SpillFile(spill_beside(log))
        file.take_up()
    file.empty()
    assert not file.path.read_bytes().strip(b"\0")


def test_nothing_is_written_over_what_the_log_may_not_have(log: Path) -> None:
    SpillFile(spill_beside(log)).append(Heading("a1", 0, Place()), ENTRIES)
    for is_taken_up in (False, True):
        file = SpillFile(spill_beside(log))
        if is_taken_up:
            file.take_up()
        else:
            file.empty()
        with pytest.raises(FileExistsError, match="not in the log yet"):
            file.append(Heading("b2", 0, Place()), ENTRIES[:1])
        assert file.read() == SpilledPart(Heading("a1", 0, Place()), as_text(ENTRIES))


def test_a_file_that_cannot_be_read_is_kept_and_read_again_at_a_later_start(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    SpillFile(spill_beside(log)).append(Heading("a1", 0, Place()), ENTRIES)
    with monkeypatch.context() as broken:
        broken.setattr(SpillFile, "_bytes", _cannot_be_read)
        spill = Spill(log)
        assert spill.left() == []
        assert "cooks.db.unread-1.spill" in spill.unread[0]
    spill.disk.empty()
    spill.drop_aside()
    spill.disk.append(Heading("b2", 0, Place(1, 0)), ENTRIES[:2])
    assert len(waiting_in(log)) == len(ENTRIES) + 2
    again = Spill(log)
    assert [left.spill for left in again.left()] == ["a1", "b2"]
    again.drop_aside()
    assert not log.with_name("cooks.db.unread-1.spill").exists()


def _cannot_be_read(file: SpillFile) -> bytes:
    raise OSError(errno.EIO, "Input/output error")


@pytest.mark.parametrize(("older", "younger"), [("a", "z"), ("z", "a")])
def test_spills_are_told_apart_by_when_they_were_and_not_by_their_names(
    older: str, younger: str
) -> None:
    parts = [
        SpilledPart(Heading(younger, 0, Place(4, 1)), as_text(ENTRIES[2:3])),
        SpilledPart(Heading(older, 0, Place(4, 1)), as_text(ENTRIES[1:2])),
        SpilledPart(Heading("m", 0, Place(3, 9)), as_text(ENTRIES[3:4])),
    ]
    assert [left.spill for left in joined(parts)] == ["m", older, younger]


def test_whoever_wants_to_know_what_waits_is_told_all_of_it_or_that_it_cannot_be_read(
    log: Path,
) -> None:
    assert waiting_in(log) == ()
    Spill(log).disk.append(Heading("a1", 0, Place()), ENTRIES[:4])
    assert waiting_in(log) == as_text(ENTRIES[:4])
    spill_beside(log).unlink()
    spill_beside(log).mkdir()
    with pytest.raises(OSError, match="directory"):
        waiting_in(log)


def test_parts_with_a_gap_between_them_stay_apart() -> None:
    parts = [SpilledPart(Heading("a1", first, Place()), as_text(ENTRIES[:2])) for first in (5, 0)]
    assert [left.first for left in joined(parts)] == [0, 5]


def test_without_a_folder_for_it_there_is_no_file_in_memory(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert spill_in_memory(log) != spill_in_memory(log.with_name("other.db"))
    monkeypatch.delenv("RUNTIME_DIRECTORY")
    monkeypatch.delenv("XDG_RUNTIME_DIR", raising=False)
    assert spill_in_memory(log) is None


# Into the log


def spilled_store(log: Path) -> tuple[Store, Place]:
    """A log with a cook of one reading, and its place."""
    store = Store(log)
    store.begin(HEADER, "boot", 0.0)
    store.write([Entry(HEADER.cook, Reading(0.5, None, 4.0, "p/1"))])
    return store, store.place()


def whole(store: Store) -> tuple[list[list[str]], list[list[str]]]:
    ids = [entry.id for entry in store.cooks()]
    return [store.lines(id) for id in ids], [store.call_lines(id) for id in ids]


@pytest.mark.parametrize("committed", range(len(ENTRIES) + 1))
def test_what_a_stop_had_merged_already_is_not_merged_again(log: Path, committed: int) -> None:
    """Wherever it stopped: between two commits, or before the file was emptied."""
    store, after = spilled_store(log)
    with store:
        store.write(ENTRIES[:committed])
    with Store(log) as again:
        again.write_spilled(after, as_text(ENTRIES))
        merged = whole(again)
        again.write_spilled(after, as_text(ENTRIES))
        assert whole(again) == merged
        assert len(again.lines("new")) == 4 and len(again.call_lines("new")) == 1
        assert again.entry("new").ended == "2026-06-13T15:00:00+00:00"


def test_what_could_be_read_late_only_is_merged_once_too(log: Path) -> None:
    store, after = spilled_store(log)
    with store:
        store.write([Entry(HEADER.cook, Reading(9.0, None, 9.0, "p/1"))])
        late = as_text([Entry(HEADER.cook, Mark(1.0 + n, None, MarkKind.BASTE)) for n in range(2)])
        for _ in range(2):
            store.write_spilled(after, late)
        assert len(store.cook(HEADER.cook).inputs) == 4


def test_a_note_written_meanwhile_is_in_nobodys_way(log: Path) -> None:
    store, after = spilled_store(log)
    with store:
        store.note(HEADER.cook, [Note("2026-06-13T18:00:00+00:00", None, "place", "Riverside")])
        spilled = [Entry(HEADER.cook, Reading(1.0 + n, None, 5.0, "p/1")) for n in range(3)]
        for _ in range(2):
            store.write_spilled(after, as_text(spilled))
        assert len(store.cook(HEADER.cook).inputs) == 4


def test_in_a_log_that_was_begun_anew_it_is_merged_once_too(log: Path) -> None:
    with Store(log) as store:
        for _ in range(2):
            store.write_spilled(Place(900, 90), as_text(ENTRIES))
        assert len(store.lines("new")) == 4


def test_what_was_spilled_of_a_cook_that_was_deleted_is_left_out(
    log: Path, caplog: pytest.LogCaptureFixture
) -> None:
    store, after = spilled_store(log)
    with store:
        gone = Entry("gone", Reading(1.0, None, 5.0, "p/1"))
        store.write_spilled(after, as_text([gone, Entry(HEADER.cook, Reading(1.0, None, 5.0))]))
        assert len(store.cook(HEADER.cook).inputs) == 2
    assert "no cook gone" in caplog.text


def test_a_commit_that_failed_and_was_kept_all_the_same_is_not_repeated(log: Path) -> None:
    """As a write-ahead log does whose last sync failed, once it is recovered."""
    store, after = spilled_store(log)
    spilled = [Entry(HEADER.cook, Reading(1.0 + n, None, 5.0, "p/1")) for n in range(3)]
    with store:
        store.write(spilled[:2])
    with Store(log) as again:
        assert again.lacks(after, as_text(spilled)) == list(as_text(spilled[2:]))

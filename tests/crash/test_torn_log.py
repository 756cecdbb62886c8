"""What a loss of power leaves of the log: its end torn, a page that never reached the disk."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest

from pullcall.events import Reading
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from tests.cooks import HEADER
from tests.crash import wal
from tests.crash.log_image import copy_log, read_image

COMMITS = 40


@dataclass(frozen=True, slots=True)
class Written:
    """A log as it was before anything of it was put into the database; after commit ``k`` its
    write-ahead log ended at ``ends[k]``, bytes."""

    log: Path
    ends: tuple[int, ...]

    def commits_before(self, at: int) -> int:
        """How many commits were whole when the log ended at a byte."""
        return sum(end <= at for end in self.ends)


def reading(k: int) -> Reading:
    return Reading(float(k), "left", 20.0 + k / 10.0, "left/1")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """Cook, then forty commits of a reading each, copied while the daemon would still run."""
    folder = tmp_path_factory.mktemp("written")
    ends = []
    with Store(folder / "cooks.db") as store:
        store.begin(HEADER, "boot", 0.0)
        for k in range(COMMITS):
            store.write([Entry(HEADER.cook, reading(k))])
            ends.append(Path(f"{folder}/cooks.db-wal").stat().st_size)
        return Written(copy_log(folder / "cooks.db", folder / "copy"), tuple(ends))


def kept(log: Path) -> int:
    """How many readings a log still has; it must be sound, and they the first ones."""
    image = read_image(log)
    assert image.faults == ()
    (lines,) = image.lines.values()
    assert [line for line in lines[1:] if '"reading"' not in line] == []
    assert [f'"t":{float(k)},' in line for k, line in enumerate(lines[1:])] == [True] * (
        len(lines) - 1
    )
    return len(lines) - 1


def test_a_log_torn_at_any_byte_has_every_commit_before_it(
    written: Written, tmp_path: Path
) -> None:
    rng = Random(11)
    first, last = written.ends[0], written.ends[-1]
    for number in range(60):
        log = copy_log(written.log, tmp_path / str(number))
        at = rng.randrange(first, last)
        wal.tear(Path(f"{log}-wal"), at)
        assert kept(log) == written.commits_before(at)


def test_a_page_that_never_reached_the_disk_takes_its_own_commit_only(
    written: Written, tmp_path: Path
) -> None:
    log = copy_log(written.log, tmp_path)
    wal.zero_last_page(Path(f"{log}-wal"))
    assert kept(log) == COMMITS - 1


@pytest.mark.parametrize(
    "spoil",
    [
        pytest.param(lambda end, rng: end + rng.randbytes(9000), id="noise after its end"),
        pytest.param(lambda end, rng: end + bytes(9000), id="zeros after its end"),
        pytest.param(lambda end, rng: end[:-900] + rng.randbytes(900), id="noise in its end"),
    ],
)
def test_what_else_stands_at_the_end_of_a_log_is_not_taken_for_a_commit(
    written: Written, tmp_path: Path, spoil: Callable[[bytes, Random], bytes]
) -> None:
    log = copy_log(written.log, tmp_path)
    file = Path(f"{log}-wal")
    content = file.read_bytes()
    spoiled = spoil(content, Random(12))
    file.write_bytes(spoiled)
    assert kept(log) == (COMMITS if spoiled.startswith(content) else COMMITS - 1)


def test_pages_half_written_by_a_checkpoint_come_from_the_log_again(
    written: Written, tmp_path: Path
) -> None:
    rng = Random(13)
    content = Path(f"{written.log}-wal").read_bytes()
    page_size = int.from_bytes(content[8:12], "big")
    for number in range(20):
        log = copy_log(written.log, tmp_path / str(number))
        pages = sorted({frame.page for frame in wal.frames(content)})
        spoiled = bytearray(max(pages) * page_size)
        spoiled[: log.stat().st_size] = log.read_bytes()
        for page in rng.sample(pages, rng.randint(1, len(pages))):
            middle = (page - 1) * page_size + rng.randrange(page_size)
            spoiled[middle : page * page_size] = rng.randbytes(page * page_size - middle)
        log.write_bytes(spoiled)
        assert kept(log) == COMMITS


def test_the_frames_of_a_log_are_read_as_sqlite_reads_them(written: Written) -> None:
    """SQLite counts the log's pages itself when it makes a checkpoint."""
    content = Path(f"{written.log}-wal").read_bytes()
    found = wal.frames(content)
    assert {frame.ends for frame in found if frame.is_commit} >= set(written.ends)
    assert all(one.ends < next_one.ends for one, next_one in pairwise(found))
    copied = copy_log(written.log, written.log.parent / "counted")
    db = sqlite3.connect(copied)
    try:
        _, pages, _ = db.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
    finally:
        db.close()
    assert len(found) == pages

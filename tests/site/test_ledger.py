"""The pen of the log: what it measures while it writes, fails and waits."""

from __future__ import annotations

import asyncio
import errno
import json
import logging
import sys
import threading
from collections.abc import Iterable
from pathlib import Path

import pytest

from pullcall.errors import LogError
from pullcall.events import CookHeader, Mark, MarkKind, Reading
from pullcall.log.entries import Entry
from pullcall.log.spill import Spill, waiting_in
from pullcall.log.spill_file import SpillFile
from pullcall.log.spill_lines import Heading
from pullcall.log.store import Store
from pullcall.site.backlog import Kept
from pullcall.site.ledger import Ledger
from pullcall.site.refuge import Safe

ON = Mark(1.0, None, MarkKind.ON, "on")
FULL = LogError("The disk is full.")


class BadDisk(Store):
    """Fails as often as it is told, and writes only while it may."""

    def __init__(self, path: Path, failures: int, error: Exception = FULL) -> None:
        super().__init__(path)
        self.error = error
        self.failures = failures
        self.may_write = threading.Event()

    def write(self, entries: Iterable[Entry]) -> None:
        self.may_write.wait(10)
        if self.failures:
            self.failures -= 1
            raise self.error
        super().write(entries)


def ledger_over(store: Store) -> Ledger:
    store.begin(CookHeader("c", "2026-06-13T13:40:00+00:00"), "boot", 0.0)
    return Ledger(store, lambda trouble: None)


async def settled(ledger: Ledger) -> None:
    async with asyncio.timeout(60):
        while ledger.waiting:  # noqa: ASYNC110 - the ledger has no event for it
            await asyncio.sleep(0.001)


async def test_each_commit_is_timed_however_many_entries_it_writes(tmp_path: Path) -> None:
    with Store(tmp_path / "cooks.db") as store:
        ledger = ledger_over(store)
        await ledger.write("c", [ON, ON, ON])
        await settled(ledger)
        ledger.close()
        assert ledger.commits.count == 1
        assert ledger.commits.total > 0.0


async def test_entries_wait_until_they_are_on_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pullcall.site.ledger.PATIENCE_S", 0.05)
    with BadDisk(tmp_path / "cooks.db", failures=0) as store:
        ledger = ledger_over(store)
        await ledger.write("c", [ON, ON])
        assert (ledger.waiting, ledger.commits.count) == (2, 0)
        store.may_write.set()
        await settled(ledger)
        ledger.close()
        assert ledger.commits.count == 1


async def test_a_commit_that_fails_is_counted_and_not_timed(tmp_path: Path) -> None:
    with BadDisk(tmp_path / "cooks.db", failures=1) as store:
        store.may_write.set()
        ledger = ledger_over(store)
        await ledger.write("c", [ON])
        assert (ledger.failures, ledger.waiting, ledger.commits.count) == (1, 1, 0)
        await settled(ledger)
        ledger.close()
        assert (ledger.failures, ledger.commits.count) == (1, 1)


async def test_a_mistake_in_the_store_is_no_slow_disk(tmp_path: Path) -> None:
    with BadDisk(tmp_path / "cooks.db", failures=1, error=RuntimeError("a mistake")) as store:
        store.may_write.set()
        ledger = ledger_over(store)
        for _ in range(2):
            with pytest.raises(RuntimeError, match="a mistake"):
                await ledger.write("c", [ON])
        assert ledger.trouble is None
        ledger.close()
        assert ledger.waiting == 0


@pytest.mark.parametrize("error", [FULL, RuntimeError("a mistake")])
async def test_what_is_not_written_at_the_end_has_a_trace_only_where_nobody_can_say_why(
    error: Exception, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with BadDisk(tmp_path / "cooks.db", failures=9) as store:
        store.may_write.set()
        ledger = ledger_over(store)
        ledger.keep_now([Entry("c", ON)])
        store.error = error
        ledger.close()
    told = [one for one in caplog.records if "entries wait" in one.getMessage()]
    assert [bool(one.exc_info) for one in told] == [error is not FULL]


# More than can wait


async def test_readings_that_are_left_out_are_told_of_and_counted_for_good(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr("pullcall.site.ledger._RETRY_S", 0.01)
    monkeypatch.setattr("pullcall.site.backlog.THINNED_FROM", 3)
    monkeypatch.setattr("pullcall.site.backlog.MOST", 5)
    caplog.set_level(logging.INFO)
    with BadDisk(tmp_path / "cooks.db", failures=sys.maxsize) as store:
        store.may_write.set()
        ledger = ledger_over(store)
        banners = [await banner_after(ledger, float(t)) for t in range(16)]
        assert [Kept.FEW.value in told for told in banners] == [False] * 2 + [True] * 6 + [
            False
        ] * 8
        assert [Kept.NONE.value in told for told in banners] == [False] * 8 + [True] * 8
        store.failures = 0
        await told_well(ledger)
        assert caplog.messages[-1].endswith("recorded again; 11 readings were left out.")
        assert (ledger.dropped, len(store.lines("c")) - 1) == (11, 5)

        store.failures = 1
        ledger.keep_now(marks(17.0))
        await ledger.keep(marks(18.0))
        await told_well(ledger)
        assert caplog.messages[-1].endswith("recorded again; nothing was lost.")
        ledger.close()


async def banner_after(ledger: Ledger, t: float) -> str:
    """What is told of a failing disk once it was tried with this reading, too."""
    await ledger.write("c", [Reading(t, None, 5.0, "p/1")])
    before = ledger.failures
    async with asyncio.timeout(60):
        while ledger.failures <= before:  # noqa: ASYNC110 - it has no event
            await asyncio.sleep(0.001)
    return ledger.trouble or ""


async def told_well(ledger: Ledger) -> None:
    async with asyncio.timeout(60):
        while ledger.trouble:  # noqa: ASYNC110 - it has no event
            await asyncio.sleep(0.001)


# What earlier runs left


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "run").mkdir()
    monkeypatch.setenv("RUNTIME_DIRECTORY", str(tmp_path / "run"))
    return tmp_path / "cooks.db"


def marks(*times: float) -> list[Entry]:
    return [Entry("c", Mark(t, None, MarkKind.BASTE, f"m{t:g}")) for t in times]


def spill_twice(store: Store) -> None:
    """An older spill beside the log and a younger one, whose name sorts first, in memory."""
    store.begin(CookHeader("c", "2026-06-13T13:40:00+00:00"), "boot", 0.0)
    spill = Spill(store.path)
    assert spill.memory is not None
    spill.disk.append(Heading("zz", 0, store.place()), marks(1.0, 2.0))
    spill.memory.append(Heading("aa", 0, store.place()), marks(5.0, 6.0))


def logged(store: Store) -> list[float]:
    """The times of the inputs as they lie in the log."""
    return [json.loads(line)["t"] for line in store.lines("c")[1:]]


def test_two_spills_are_logged_in_the_order_they_were_and_once(log: Path) -> None:
    with Store(log) as store:
        spill_twice(store)
        kept = {file.path: file.path.read_bytes() for file in Spill(log).files}
        Ledger(store, lambda trouble: None).close()
        for path, data in kept.items():
            path.write_bytes(data)  # a stop came before they were emptied
        Ledger(store, lambda trouble: None).close()
        assert logged(store) == [1.0, 2.0, 5.0, 6.0]
    assert waiting_in(log) == ()


@pytest.mark.parametrize("heals", [False, True])
def test_two_spills_that_the_log_does_not_take_are_both_kept_with_what_comes(
    log: Path, heals: bool
) -> None:
    with BadDisk(log, failures=0) as store:
        store.may_write.set()
        spill_twice(store)
        store.failures = 2
        ledger = Ledger(store, lambda trouble: None)
        ledger.keep_now(marks(7.0))
        assert [entry.what.t for entry in waiting_in(log)] == [1.0, 2.0, 5.0, 6.0, 7.0]  # type: ignore[union-attr]
        assert Safe.MEMORY.value in (ledger.trouble or "")
        store.failures = 0 if heals else 1
        ledger.close()
        if not heals:
            Ledger(store, lambda trouble: None).close()
        assert logged(store) == [1.0, 2.0, 5.0, 6.0, 7.0]
    assert waiting_in(log) == ()


def test_what_could_not_be_read_at_one_start_is_logged_at_the_next_and_said_meanwhile(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(log) as store:
        spill_twice(store)
        with monkeypatch.context() as broken:
            broken.setattr(SpillFile, "take_up", _cannot_be_read)
            ledger = Ledger(store, lambda trouble: None)
            assert "looked at again" in (store.notice or "")
            ledger.keep_now(marks(9.0))
            ledger.close()
        Ledger(store, lambda trouble: None).close()
        assert sorted(logged(store)) == [1.0, 2.0, 5.0, 6.0, 9.0]


def _cannot_be_read(file: SpillFile) -> None:
    raise OSError(errno.EIO, "Input/output error")


@pytest.mark.parametrize("is_failing", [False, True])
async def test_no_text_of_what_spilled_is_left_once_the_log_has_it(
    log: Path, monkeypatch: pytest.MonkeyPatch, is_failing: bool
) -> None:
    """Neither where the disk failed nor where it was only slow, and told nobody."""
    monkeypatch.setattr("pullcall.site.ledger.PATIENCE_S", 0.05)
    monkeypatch.setattr("pullcall.site.ledger._RETRY_S", 0.01)
    with BadDisk(log, failures=0) as store:
        ledger = ledger_over(store)
        writing = asyncio.create_task(ledger.write("c", [ON, ON]))
        async with asyncio.timeout(60):
            while not waiting_in(log):  # noqa: ASYNC110 - it has no event
                await asyncio.sleep(0.01)
        store.failures = 1 if is_failing else 0
        store.may_write.set()
        await writing
        await settled(ledger)
        async with asyncio.timeout(60):  # in their own time
            while any(map(holds_text, Spill(log).files)):  # noqa: ASYNC110 - it has no event
                await asyncio.sleep(0.01)
        ledger.close()


def holds_text(file: SpillFile) -> bool:
    return file.path.exists() and bool(file.path.read_bytes().strip(b"\0"))

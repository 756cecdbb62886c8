"""Where what waits for the log lies meanwhile, and what is said of it."""

from __future__ import annotations

import asyncio
import threading
from pathlib import Path

import pytest

from pullcall.events import Mark, MarkKind
from pullcall.log.entries import Entry, Place
from pullcall.log.spill import Spill
from pullcall.log.spill_file import SpillFile
from pullcall.site.backlog import Backlog
from pullcall.site.refuge import Refuge, Safe

PATIENCE_S = 60.0


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "run").mkdir()
    monkeypatch.setenv("RUNTIME_DIRECTORY", str(tmp_path / "run"))
    return tmp_path / "cooks.db"


def mark(t: float) -> Entry:
    return Entry("c", Mark(t, None, MarkKind.BASTE, f"m{t:g}"))


def kept(log: Path) -> int:
    """How many entries a start would find."""
    return sum(len(left.entries) for left in Spill(log).left())


class Waiting:
    """A backlog with its refuge."""

    def __init__(self, log: Path) -> None:
        self.backlog = Backlog()
        self.refuge = Refuge(log, self.backlog, "a1")

    async def add(self, t: float, patience_s: float = PATIENCE_S, *, slow: bool = False) -> Safe:
        self.backlog.add([mark(t)])
        await self.refuge.keep(Place(), patience_s, slow=slow)
        return self.refuge.safe


async def test_what_a_failing_disk_does_not_take_lies_beside_the_log(log: Path) -> None:
    waiting = Waiting(log)
    assert [await waiting.add(1.0), await waiting.add(2.0)] == [Safe.DISK, Safe.DISK]
    assert kept(log) == 2


async def test_of_a_slow_disk_it_lies_in_memory_and_beside_the_log_once_the_disk_fails(
    log: Path,
) -> None:
    waiting = Waiting(log)
    assert await waiting.add(1.0, slow=True) is Safe.MEMORY
    assert not log.with_name("cooks.db.spill").exists()
    assert await waiting.add(2.0) is Safe.DISK
    assert kept(log) == 2


async def test_a_file_that_cannot_be_written_gives_way_to_memory_and_that_to_nothing(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log.with_name("cooks.db.spill").mkdir()
    assert await Waiting(log).add(1.0) is Safe.MEMORY
    monkeypatch.delenv("RUNTIME_DIRECTORY")
    monkeypatch.delenv("XDG_RUNTIME_DIR", raising=False)
    assert await Waiting(log).add(1.0) is Safe.NOWHERE


async def test_a_file_that_was_late_once_is_used_again(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    may_write, append = threading.Event(), SpillFile.append

    def late(self: SpillFile, *given: object) -> None:
        may_write.wait(20)
        append(self, *given)  # type: ignore[arg-type]

    monkeypatch.setattr(SpillFile, "append", late)
    waiting = Waiting(log)
    assert await waiting.add(1.0, patience_s=0.0) is Safe.NOWHERE
    may_write.set()
    async with asyncio.timeout(60):
        while await waiting.add(2.0) is Safe.NOWHERE:  # noqa: ASYNC110 - it has no event
            await asyncio.sleep(0)
    assert kept(log) == len(waiting.backlog)


async def test_once_all_is_in_the_log_nothing_is_left(log: Path) -> None:
    waiting = Waiting(log)
    await waiting.add(1.0)
    await waiting.add(2.0, slow=True)
    waiting.backlog.settle(2)
    waiting.refuge.forget()
    waiting.refuge.close()
    assert kept(log) == 0
    assert not log.with_name("cooks.db.spill").exists()

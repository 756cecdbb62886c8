"""The pen of the log: what it measures while it writes, fails and waits."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Iterable
from pathlib import Path

from pullcall.errors import LogError
from pullcall.events import CookHeader, Mark, MarkKind
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from pullcall.site.ledger import Ledger

ON = Mark(1.0, None, MarkKind.ON, "on")


class BadDisk(Store):
    """Fails as often as it is told, and writes only while it may."""

    def __init__(self, path: Path, failures: int) -> None:
        super().__init__(path)
        self.failures = failures
        self.may_write = threading.Event()

    def write(self, entries: Iterable[Entry]) -> None:
        self.may_write.wait(10)
        if self.failures:
            self.failures -= 1
            raise LogError("The disk is full.")
        super().write(entries)


def ledger_over(store: Store) -> Ledger:
    store.begin(CookHeader("c", "2026-06-13T13:40:00+00:00"), "boot", 0.0)
    return Ledger(store, lambda trouble: None)


async def settled(ledger: Ledger) -> None:
    async with asyncio.timeout(10):
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


async def test_entries_wait_until_they_are_on_disk(tmp_path: Path) -> None:
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

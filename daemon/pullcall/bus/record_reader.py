"""Reads the cook log beside the daemon that writes it, in a thread of its own."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar

from pullcall.errors import LogError
from pullcall.log.store import Store

_log = logging.getLogger(__name__)

T = TypeVar("T")
Lines = list[tuple[int, str]]


class RecordReader:
    """Opens the log when it is first read, and again after it could not be read.

    A log that cannot be read gives nothing for now; the journal says so once for each failure, and
    ``trouble`` says so as long as it lasts.
    """

    def __init__(self, log: Path) -> None:
        self._path = log
        self._store: Store | None = None
        self.trouble = ""
        self._thread = ThreadPoolExecutor(1, "records")

    async def lines(self, cook: str, number: int, most: int) -> Lines | None:
        """See :meth:`Store.records_after`; None while the log cannot be read."""
        return await self._ask(lambda store: store.records_after(cook, number, most))

    async def count(self, positions: Mapping[str, int]) -> int | None:
        """How many lines are left of all cooks after their positions."""
        return await self._ask(
            lambda store: sum(store.count_after(cook, n) for cook, n in positions.items())
        )

    async def run(self, act: Callable[[], T]) -> T:
        """Do something else that waits for the disk."""
        return await asyncio.get_running_loop().run_in_executor(self._thread, act)

    async def _ask(self, question: Callable[[Store], T]) -> T | None:
        return await self.run(lambda: self._answer(question))

    def _answer(self, question: Callable[[Store], T]) -> T | None:
        try:
            if self._store is None:
                self._store = Store(self._path, reads_only=True)
            answer = question(self._store)
            self.trouble = ""
            return answer
        except LogError as exc:
            self._close()
            trouble = f"Records are not published for now. {exc}"
            if trouble != self.trouble:
                self.trouble = trouble
                _log.warning("%s", trouble)
            return None

    def _close(self) -> None:
        if self._store is not None:
            self._store.close()
            self._store = None

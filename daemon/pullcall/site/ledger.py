"""Writes the cook log without ever holding up the calls: a slow or failing disk is waited out."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from pullcall.clock import RealClock
from pullcall.errors import LogError
from pullcall.events import Call, Input
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from pullcall.metrics.histogram import Histogram

logger = logging.getLogger(__name__)
T = TypeVar("T")

#: The cook waits this long for the disk, seconds; then it goes on and the disk catches up.
PATIENCE_S = 0.25
#: A failing disk is tried again this often, seconds.
_RETRY_S = 1.0
#: A commit takes about a millisecond on a disk that is well; PATIENCE_S is among them.
_COMMITS_S = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, PATIENCE_S, 0.5, 1.0, 2.5, 5.0, 10.0)


class Ledger:
    """The one pen. Entries are written in order, and kept until they could be.

    Everything that touches the store of a running site goes through here, on one thread.
    ``commits`` has the seconds that each commit took, ``failures`` counts those that failed.
    """

    def __init__(self, store: Store, on_trouble: Callable[[str | None], None]) -> None:
        self.trouble: str | None = None
        self.commits = Histogram(_COMMITS_S)
        self.failures = 0
        self._life = RealClock()
        self._store = store
        self._on_trouble = on_trouble
        self._pen = ThreadPoolExecutor(1, thread_name_prefix="log")
        self._waiting: list[Entry] = []
        self._writing: asyncio.Task[None] | None = None
        self._in_flight: tuple[Future[float], int] | None = None

    @property
    def waiting(self) -> int:
        """How many entries are not known to be on disk."""
        return len(self._waiting)

    async def write(
        self, cook: str, inputs: Sequence[Input] = (), calls: Sequence[Call] = ()
    ) -> None:
        """Return once these are on disk, or after a quarter of a second if the disk is slow."""
        self._waiting += [Entry(cook, event) for event in (*inputs, *calls)]
        if self._writing is None or self._writing.done():
            self._writing = asyncio.create_task(self._write_all(), name="ledger")
        done, _ = await asyncio.wait({self._writing}, timeout=PATIENCE_S)
        if not done and self.trouble is None:
            self._tell("The disk is slow: the cook goes on and is recorded as the disk allows.")

    async def run(self, work: Callable[[], T]) -> T:
        """The result of other work with the store, done between writes."""
        return await asyncio.get_running_loop().run_in_executor(self._pen, work)

    def close(self) -> None:
        """Try once more to write what waits, then put the pen down."""
        if self._writing is not None:
            self._writing.cancel()
        self._pen.shutdown(wait=True)
        if self._in_flight is not None and self._in_flight[0].exception() is None:
            self._settle()
        if self._waiting:
            try:
                self._store.write(self._waiting)
            except LogError:
                logger.exception("%d records could not be written.", len(self._waiting))

    async def _write_all(self) -> None:
        """Write until nothing waits; keep trying while the disk fails."""
        while self._waiting:
            batch = list(self._waiting)
            self._in_flight = (self._pen.submit(self._commit, batch), len(batch))
            try:
                await asyncio.wrap_future(self._in_flight[0])
            except LogError as exc:
                self._in_flight = None
                self.failures += 1
                self._tell(f"The cook is not being recorded, the calls go on. {exc}")
                await asyncio.sleep(_RETRY_S)
            else:
                self._settle()
                self._tell(None)

    def _commit(self, batch: Sequence[Entry]) -> float:
        """Write, on the pen's own thread; returns the seconds it took."""
        began = self._life.monotonic()
        self._store.write(batch)
        return self._life.monotonic() - began

    def _settle(self) -> None:
        """What was in flight is written."""
        if self._in_flight is not None:
            self.commits.observe(self._in_flight[0].result())
            del self._waiting[: self._in_flight[1]]
            self._in_flight = None

    def _tell(self, trouble: str | None) -> None:
        if trouble == self.trouble:
            return
        self.trouble = trouble
        if trouble:
            logger.error(trouble)
        else:
            logger.info("The cook is being recorded again; nothing was lost.")
        self._on_trouble(trouble)

"""Writes the cook log without ever holding up the calls: a slow or failing disk is waited out."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from pullcall.errors import LogError
from pullcall.events import Call, Input
from pullcall.log.store import Entry, Store

logger = logging.getLogger(__name__)
T = TypeVar("T")

#: The cook waits this long for the disk, seconds; then it goes on and the disk catches up.
PATIENCE_S = 0.25
#: A failing disk is tried again this often, seconds.
_RETRY_S = 1.0


class Ledger:
    """The one pen. Entries are written in order, and kept until they could be.

    Everything that touches the store of a running site goes through here, on one thread.
    """

    def __init__(self, store: Store, on_trouble: Callable[[str | None], None]) -> None:
        self.trouble: str | None = None
        self._store = store
        self._on_trouble = on_trouble
        self._pen = ThreadPoolExecutor(1, thread_name_prefix="log")
        self._waiting: list[Entry] = []
        self._writing: asyncio.Task[None] | None = None
        self._in_flight: tuple[Future[None], int] | None = None

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
            self._in_flight = (self._pen.submit(self._store.write, batch), len(batch))
            try:
                await asyncio.wrap_future(self._in_flight[0])
            except LogError as exc:
                self._in_flight = None
                self._tell(f"The cook is not being recorded, the calls go on. {exc}")
                await asyncio.sleep(_RETRY_S)
            else:
                self._settle()
                self._tell(None)

    def _settle(self) -> None:
        """What was in flight is written."""
        if self._in_flight is not None:
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

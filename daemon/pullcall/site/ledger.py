"""Writes the cook log without ever holding up the calls: a slow or failing disk is waited out."""

from __future__ import annotations

import asyncio
import logging
import secrets
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from pullcall.clock import RealClock
from pullcall.errors import LogError
from pullcall.events import Call, Input
from pullcall.log.entries import Entry
from pullcall.log.spill import Left
from pullcall.log.store import Store
from pullcall.log.with_waiting import LogWithWaiting
from pullcall.metrics.histogram import Histogram
from pullcall.site.backlog import Backlog
from pullcall.site.refuge import Refuge

logger = logging.getLogger(__name__)
T = TypeVar("T")

#: The cook waits this long for the disk, seconds; then it goes on and the disk catches up.
PATIENCE_S = 0.25
#: A failing disk is tried again this often, seconds.
_RETRY_S = 1.0
#: One commit writes no more entries than this: a full disk is tried with little.
_AT_ONCE = 500
#: A disk that hangs is waited for so long at the end, seconds.
_LAST_WAIT_S = 3.0
#: A commit takes about a millisecond on a disk that is well; PATIENCE_S is among them.
_COMMITS_S = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, PATIENCE_S, 0.5, 1.0, 2.5, 5.0, 10.0)
_SLOW = "The disk is slow: the cook goes on and is recorded as the disk allows."


class Ledger:
    """The one pen. Entries are written in order, and kept until they could be: meanwhile they
    spill into a file that outlives the process.

    Everything that touches the store of a running site goes through here, on one thread.
    ``commits`` has the seconds that each commit took, ``failures`` counts those that failed.
    """

    def __init__(self, store: Store, on_trouble: Callable[[str | None], None]) -> None:
        """Writes first what an earlier run had to leave."""
        self.trouble: str | None = None
        self.commits = Histogram(_COMMITS_S)
        self.failures = 0
        self._life = RealClock()
        self._store = store
        self._on_trouble = on_trouble
        self._pen = ThreadPoolExecutor(1, thread_name_prefix="log")
        self._waiting = Backlog()
        self._dropped_before = 0  # while all was well
        self._refuge = Refuge(store.path, self._waiting, secrets.token_hex(8))
        self._writing: asyncio.Task[None] | None = None
        self._in_flight: tuple[Future[float], int] | None = None
        self._failing = asyncio.Event()
        self._after = store.place()
        lefts = self._refuge.left()
        self.tell(" ".join(self._refuge.unread))
        self._take_up(lefts)

    @property
    def waiting(self) -> int:
        """How many entries are not known to be in the log."""
        return len(self._waiting)

    @property
    def dropped(self) -> int:
        """How many readings were ever left out of the log, for too much waited."""
        return self._waiting.dropped

    def log(self) -> LogWithWaiting:
        """The log with what waits. For the start: it reads the disk."""
        waiting = self._waiting.first()
        if waiting:
            try:
                waiting = self._store.lacks(self._after, waiting)
            except LogError:
                logger.exception("The log cannot be read: what waits for it is gone on with.")
        return LogWithWaiting(self._store, waiting)

    def tell(self, words: str) -> None:
        """People are told so from now on, above the lanes."""
        self._store.notice = " ".join(filter(None, (self._store.notice, words))) or None

    def keep_now(self, entries: Sequence[Entry]) -> None:
        """Write before anything runs: returns once these are in the log or, where they cannot be,
        lie as safe as can be."""
        self._waiting.add(entries)
        try:
            self._store.write(self._waiting.first())
        except LogError as exc:
            self._refuge.keep_now(self._after)
            self._failed(exc)
        else:
            self._settle(len(self._waiting))
            self._refuge.empty()
            self._is_well()

    async def write(
        self, cook: str, inputs: Sequence[Input] = (), calls: Sequence[Call] = ()
    ) -> None:
        """Return once these are in the log, or lie safe where the disk fails, or after half a
        second where it hangs: ``trouble`` says then what they are worth."""
        await self.keep([Entry(cook, event) for event in (*inputs, *calls)])

    async def keep(self, entries: Sequence[Entry]) -> None:
        """The same for entries of any kind. Raises what is wrong with the log's own code: that
        passes with no disk."""
        self._waiting.add(entries)
        self._raise_mistake()
        if self._writing is None or self._writing.done():
            self._writing = asyncio.create_task(self._write_all(), name="ledger")
        if not self._failing.is_set():
            await self._written_or_failed(self._writing)
            self._raise_mistake()
        if not self._waiting:
            return
        await self._refuge.keep(self._after, PATIENCE_S, slow=not self._failing.is_set())
        if self._waiting and not self._failing.is_set():
            self._tell(self._worded(_SLOW))

    async def run(self, work: Callable[[], T]) -> T:
        """The result of other work with the store, done between writes."""
        return await asyncio.get_running_loop().run_in_executor(self._pen, work)

    def close(self) -> None:
        """Try once more to write what waits, then put the pen down; what cannot be written stays
        where it is kept, for the next start."""
        if self._writing is not None:
            self._writing.cancel()
        try:
            self._write_last()
        except Exception as exc:  # whatever it is, what waits has to lie safe
            self._refuge.keep_now(self._after)
            mistake = None if isinstance(exc, LogError) else exc
            where, count = self._refuge.safe.value, self.waiting
            logger.error("%d entries wait. %s %s", count, where, exc, exc_info=mistake)
        if self._lost:
            logger.warning("%d readings were left out of the log.", self._lost)
        self._pen.shutdown(wait=not self._waiting)
        self._refuge.close()

    def _take_up(self, lefts: Sequence[Left]) -> None:
        """Log what was left, in order; where one cannot be, it waits with all after it."""
        lefts = [left for left in lefts if not self._is_logged(left)]
        for number, left in enumerate(lefts):
            try:
                self._store.write_spilled(left.after, left.entries)
                logger.info("%d entries that had to wait are in the log.", len(left.entries))
            except LogError as exc:
                self._have_wait(lefts[number:])
                self._failed(exc)
                break
        self._after = self._store.place()
        if not self._waiting:
            self._refuge.empty()
        self._refuge.reserve()

    def _have_wait(self, lefts: Sequence[Left]) -> None:
        for left in lefts:
            self._waiting.take_up(left.first, left.entries)
        self._refuge.go_on_with(lefts)

    def _is_logged(self, left: Left) -> bool:
        """Whether the log has all of it: then it was not emptied before a stop."""
        try:
            return not self._store.lacks(left.after, left.entries)
        except LogError:
            return False

    def _raise_mistake(self) -> None:
        writing = self._writing
        if writing is not None and writing.done() and not writing.cancelled():
            writing.result()

    async def _written_or_failed(self, writing: asyncio.Task[None]) -> None:
        failing = asyncio.ensure_future(self._failing.wait())
        either = asyncio.FIRST_COMPLETED
        await asyncio.wait({writing, failing}, timeout=PATIENCE_S, return_when=either)
        failing.cancel()

    async def _write_all(self) -> None:
        """Write until nothing waits; keep trying while the disk fails."""
        while self._waiting:
            batch = self._waiting.first(_AT_ONCE)
            self._in_flight = (self._pen.submit(self._commit, batch), len(batch))
            try:
                await asyncio.wrap_future(self._in_flight[0])
            except LogError as exc:
                self._in_flight = None
                self._failing.set()
                await self._refuge.keep(self._after, PATIENCE_S)
                self._failed(exc)
                await asyncio.sleep(_RETRY_S)
            else:
                self._settle_flight()
        self._refuge.forget()
        self._is_well()

    def _write_last(self) -> None:
        """Raises LogError, or TimeoutError where the disk hangs."""
        if self._in_flight is not None:
            flight = self._in_flight[0]
            if flight.exception(_LAST_WAIT_S) is None:
                self._settle_flight()
        if self._waiting:
            last = self._waiting.first()
            self._pen.submit(self._store.write, last).result(_LAST_WAIT_S)
            self._settle(len(last))
        self._refuge.empty()

    def _commit(self, batch: Sequence[Entry]) -> float:
        """Write, on the pen's own thread; returns the seconds it took."""
        began = self._life.monotonic()
        self._store.write(batch)
        return self._life.monotonic() - began

    def _settle_flight(self) -> None:
        """What was in flight is written."""
        if self._in_flight is not None:
            self.commits.observe(self._in_flight[0].result())
            self._settle(self._in_flight[1])
            self._in_flight = None

    def _settle(self, count: int) -> None:
        self._waiting.settle(count)
        self._after = self._store.place()

    def _failed(self, exc: LogError) -> None:
        self.failures += 1
        self._failing.set()
        self._tell(self._worded(f"The cook is not being recorded, the calls go on. {exc}"))

    def _is_well(self) -> None:
        self._failing.clear()
        self._tell(None)
        self._dropped_before = self.dropped

    def _worded(self, trouble: str) -> str:
        words = (trouble, self._refuge.safe.value, self._waiting.kept.value)
        return " ".join(filter(None, words))

    @property
    def _lost(self) -> int:
        """How many readings were left out in this trouble."""
        return self.dropped - self._dropped_before

    def _tell(self, trouble: str | None) -> None:
        if trouble == self.trouble:
            return
        self.trouble = trouble
        if trouble:
            logger.error(trouble)
        else:
            lost = f"{self._lost} readings were left out" if self._lost else "nothing was lost"
            logger.info("The cook is being recorded again; %s.", lost)
        self._on_trouble(trouble)

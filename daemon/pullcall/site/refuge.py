"""Has what waits for the log lie safe meanwhile: beside the log, else in the machine's memory."""

from __future__ import annotations

import asyncio
import enum
import logging
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from pathlib import Path

from pullcall.log.entries import Entry, Place
from pullcall.log.spill import Left, Spill, empty
from pullcall.log.spill_file import SpillFile
from pullcall.log.spill_lines import Heading
from pullcall.site.backlog import Backlog

logger = logging.getLogger(__name__)
#: At the end a file that is late is waited for so long, seconds.
_LAST_WAIT_S = 1.0


class Safe(enum.Enum):
    """Where what waits lies, and a sentence on what that is worth."""

    DISK = "What is entered is kept beside the log meanwhile: a crash or a power cut loses nothing."
    MEMORY = (
        "What is entered is kept in this machine's memory meanwhile: a crash of Pullcall loses "
        "nothing, a power cut does."
    )
    NOWHERE = "A crash would lose what is entered meanwhile."


class Refuge:
    """The spill files, each on a thread of its own: one that hangs holds nothing else up.

    ``safe`` says where everything lies that was given last. ``spill`` names what is spilled.
    """

    def __init__(self, log: Path, backlog: Backlog, spill: str) -> None:
        self.safe = Safe.DISK
        self._spill = spill
        self._backlog = backlog
        self._files = Spill(log)
        self._threads = {file: ThreadPoolExecutor(1, "spill") for file in self._files.files}
        self._first = 0
        self._is_scattered = False  # some of what waits may lie in memory alone
        self._used = set(self._files.files)
        self._out: set[SpillFile] = set()
        self._late: dict[SpillFile, Future[None]] = {}
        self._lock = asyncio.Lock()

    # At the start and at the end, when nothing else waits

    def left(self) -> list[Left]:
        """What earlier runs left."""
        return self._files.left()

    @property
    def unread(self) -> tuple[str, ...]:
        """What people have to know of files that cannot be read."""
        return tuple(self._files.unread)

    def go_on_with(self, lefts: Sequence[Left]) -> None:
        """They still wait: what comes now is added to the last; the others stay where they are."""
        last = lefts[-1]
        self._spill, self._first = last.spill, last.first
        self._is_scattered = len(lefts) > 1
        end = last.first + len(last.entries)
        is_whole = self._files.disk.spill == last.spill and self._files.disk.to == end
        self.safe = self._kind(self._files.disk) if is_whole else Safe.MEMORY

    def reserve(self) -> None:
        """Make room beside the log."""
        self._files.reserve()

    def empty(self) -> None:
        """All of it is in the log. What hangs is left as it is: the next start finds it logged."""
        for file in self._files.files:
            if not self._is_late(file, _LAST_WAIT_S):
                empty(file)
        self._files.drop_aside()
        self._used.clear()
        self._is_scattered = False

    def keep_now(self, after: Place) -> None:
        """As :meth:`keep`, without a loop."""
        for file in self._files.files:
            if self._is_late(file, _LAST_WAIT_S):
                continue
            self._used.add(file)
            try:
                file.append(*self._waiting(after))
            except OSError as exc:
                self._is_out(file, exc)
            else:
                self.safe = self._kind(file)
                return
        self.safe = Safe.NOWHERE

    def close(self) -> None:
        """Let go of the files; one that hangs is left alone."""
        for file, thread in self._threads.items():
            is_well = not self._is_late(file)
            thread.shutdown(wait=is_well)
            if is_well:
                file.close()

    # While the loop runs

    async def keep(self, after: Place, patience_s: float, *, slow: bool = False) -> None:
        """Have all that waits lie safe; ``after`` is how far the log had come before it.

        Each file is given so long. Where the disk is only slow (``slow``), memory comes first: the
        same disk would be as slow once more.
        """
        async with self._lock:
            files = self._files.files
            for file in reversed(files) if slow else files:
                if await self._append(file, after, patience_s):
                    self.safe = self._kind(file)
                    return
            self.safe = Safe.NOWHERE

    def forget(self) -> None:
        """All is in the log: empty the files that were used, in their own time."""
        if not self._used:
            return
        self._out.clear()
        self._is_scattered = False
        for file in self._used:
            self._threads[file].submit(empty, file)
        self._used.clear()
        self._threads[self._files.disk].submit(self._files.drop_aside)

    async def _append(self, file: SpillFile, after: Place, patience_s: float) -> bool:
        """Whether all lies in this file now. One that is late is asked again once it is done."""
        if file in self._out or self._is_late(file):
            return False
        self._used.add(file)
        job = self._threads[file].submit(file.append, *self._waiting(after))
        self._late[file], waited = job, asyncio.wrap_future(job)
        done, _ = await asyncio.wait({waited}, timeout=patience_s)
        if not done:
            waited.add_done_callback(lambda late: late.cancelled() or late.exception())
            return False
        if isinstance(failed := waited.exception(), OSError):
            self._is_out(file, failed)
            return False
        waited.result()
        return True

    def _is_late(self, file: SpillFile, patience_s: float = 0.0) -> bool:
        """Whether what was asked of a file before is not done, after waiting so long."""
        return file in self._late and bool(wait([self._late[file]], patience_s).not_done)

    def _waiting(self, after: Place) -> tuple[Heading, list[Entry]]:
        """What was left before it stays in files of its own."""
        first = max(self._first, self._backlog.base)
        return Heading(self._spill, first, after), self._backlog.since(first)

    def _is_out(self, file: SpillFile, exc: OSError) -> None:
        logger.warning("Nothing can be kept in %s (%s).", file.path, exc.strerror)
        self._out.add(file)

    def _kind(self, file: SpillFile) -> Safe:
        is_safe = file is self._files.disk and not self._is_scattered
        return Safe.DISK if is_safe else Safe.MEMORY

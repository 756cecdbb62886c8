"""Keeps the file of pairings as the register stands, off the event loop: a disk may hang."""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import datetime
from functools import partial

from pullcall.access.paired_file import PairedFile
from pullcall.access.records import Kept
from pullcall.errors import PairedFileError

_log = logging.getLogger(__name__)
_NOTHING = Kept()
#: Between two saves, seconds: a thousand pairings take 7 ms of the interpreter, which the calls
#: wait for as well, and a crowd comes at forty a second.
_REST_S = 0.2


class PairingsPen:
    """Saves in the order asked for, on one thread; of what waits there only the newest is saved.

    After each save it rests: so a crowd that pairs is saved together, and whoever pairs alone at
    once.

    A file that cannot be read (the disk fails, it is another user's) is never replaced. It is read
    again before each save, and what is found in it is taken with :meth:`found`.
    """

    def __init__(self, file: PairedFile, rest: Callable[[], object] | None = None) -> None:
        #: Why what was asked for last is not on disk; None if it is, or is not known yet.
        self.trouble: str | None = None
        self._file = file
        self._is_read = False
        self._found: Kept | None = None
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="pairings")
        self._last: Future[None] | None = None
        self._rest = rest or partial(threading.Event().wait, _REST_S)
        self._asked = self._done = self._rested = 0

    def load(self, now: float, wall: datetime) -> Kept:
        """What was saved before; nothing where it cannot be read, and then ``trouble`` says so."""
        try:
            kept = self._file.load(now, wall)
        except PairedFileError as error:
            self._tell(error)
            return _NOTHING
        self._is_read = True
        return kept

    def found(self) -> Kept | None:
        """What the file held that could not be read at first, once."""
        found, self._found = self._found, None
        return found

    def save(self, kept: Kept, now: float, wall: datetime) -> None:
        """Have the file replaced."""
        self._asked += 1
        self._last = self._thread.submit(self._save, self._asked, kept, now, wall)
        self._thread.submit(self._rest_after_save)

    async def until_saved(self, patience_s: float) -> None:
        """Return once everything asked for so far was saved or could not be, or after so long."""
        asked = self._asked
        try:
            async with asyncio.timeout(patience_s):
                while self._last is not None and self._done < asked:
                    await asyncio.wait({asyncio.wrap_future(self._last)})
        except TimeoutError:
            self.trouble = self.trouble or "The disk is slow: paired phones are not kept yet."

    def _save(self, number: int, kept: Kept, now: float, wall: datetime) -> None:
        if number < self._asked:
            return  # a newer one waits: whoever asked for this one waits for that
        try:
            if self._is_read or self._read(now, wall):
                self._file.save(kept, now, wall)
                self.trouble = None
        except PairedFileError as error:
            self._tell(error)
        self._done = number

    def _rest_after_save(self) -> None:
        if self._rested != self._done:
            self._rested = self._done
            self._rest()

    def _read(self, now: float, wall: datetime) -> bool:
        """Read the file at last; whether there was nothing in it that a save must not lose."""
        kept = self._file.load(now, wall)
        self._is_read = True
        self._found = None if kept == _NOTHING else kept
        return self._found is None

    def _tell(self, error: PairedFileError) -> None:
        if self.trouble is None:
            _log.error("%s", error)
        self.trouble = str(error)

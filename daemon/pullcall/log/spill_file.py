"""One file that keeps, in order, what the log could not take yet.

It only grows until it is emptied. Room for it is reserved while there is some: a disk that filled
up meanwhile can still be written where the file lies already (not on file systems that never write
in place). Its name ends in ".spill".
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from threading import Lock

from pullcall.log.entries import Entry
from pullcall.log.spill_lines import Heading, SpilledPart, entry_line, heading_line, read_lines
from pullcall.whole_file import sync_folder

#: Two hours of two probes at two readings a second, bytes.
RESERVED = 4 * 1024 * 1024
#: A larger file was not written here.
_LARGEST = 256 * 1024 * 1024
_EMPTY = bytes(64)


class SpillFile:
    """``to`` is the number of the entry after the last one in it. Raises OSError where it fails.

    Any thread may use it. Not for the event loop: it waits for the disk.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.to = 0
        self._spill = ""
        self._end = 0
        self._file: int | None = None
        self._lock = Lock()

    @property
    def spill(self) -> str:
        """Which spill it holds entries of; empty for none."""
        return self._spill

    def read(self) -> SpilledPart | None:
        """What it holds; None for nothing, or where there is no such file."""
        try:
            descriptor = os.open(self.path, os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW)
        except FileNotFoundError:
            return None
        with os.fdopen(descriptor, "rb") as file:
            return read_lines(file.read(_LARGEST))

    def reserve(self) -> None:
        """Make room for what may come."""
        os.posix_fallocate(self._descriptor(), 0, RESERVED)
        os.fsync(self._descriptor())

    def go_on(self, part: SpilledPart) -> None:
        """Append to what was read from it."""
        self._spill = part.heading.spill
        self.to = part.heading.first + len(part.entries)
        lines = (entry_line(self._spill, entry) for entry in part.entries)
        self._end = len(heading_line(part.heading)) + sum(map(len, lines))

    def append(self, heading: Heading, entries: Sequence[Entry]) -> None:
        """Return once all of these lie on the disk, ``heading.first`` the number of the first one.

        Those that it holds already are not written again. Where it ends before the first of them,
        all it holds is in the log: it begins anew.
        """
        with self._lock:
            is_anew = self._spill != heading.spill or self.to < heading.first
            lacking = entries if is_anew else entries[self.to - heading.first :]
            lines = b"".join(entry_line(heading.spill, entry) for entry in lacking)
            data = heading_line(heading) + lines if is_anew else lines
            begins = 0 if is_anew else self._end
            self._write(data, begins)
            self._spill, self._end = heading.spill, begins + len(data)
            self.to = max(heading.first if is_anew else self.to, heading.first + len(entries))

    def empty(self) -> None:
        """Let it hold nothing; the room stays reserved."""
        with self._lock:
            if self._file is None and not self.path.exists():
                return
            self._write(_EMPTY, 0)
            if os.fstat(self._descriptor()).st_size > RESERVED:
                os.ftruncate(self._descriptor(), RESERVED)
            self._spill = ""

    def close(self) -> None:
        """Let go of it; one that holds nothing is removed."""
        with suppress(OSError):
            if self.read() is None:
                self.path.unlink(missing_ok=True)
        if self._file is not None:
            os.close(self._file)
            self._file = None

    def _write(self, data: bytes, begins: int) -> None:
        left = memoryview(data)
        while left:
            written = os.pwrite(self._descriptor(), left, begins)
            left, begins = left[written:], begins + written
        os.fsync(self._descriptor())

    def _descriptor(self) -> int:
        if self._file is None:
            flags = os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW
            self._file = os.open(self.path, flags, 0o600)
            sync_folder(self.path.parent)
        return self._file

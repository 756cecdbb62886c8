"""One file that keeps, in order, what the log could not take yet.

It only grows until it is emptied, and nothing is written over what nobody has read. Room for it is
reserved while there is some: a disk that filled up meanwhile can still be written where the file
lies already (not on file systems that never write in place). Its name ends in ".spill".
"""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from itertools import count
from pathlib import Path
from threading import Lock

from pullcall.errors import LogFormatError
from pullcall.log.entries import Entry
from pullcall.log.spill_lines import Heading, SpilledPart, entry_line, heading_line, read_lines
from pullcall.whole_file import sync_folder

#: Two hours of two probes at two readings a second, bytes.
RESERVED = 4 * 1024 * 1024
#: A larger file was not written here.
_LARGEST = 256 * 1024 * 1024


class SpillFile:
    """``to`` is the number of the entry after the last one in it. Raises OSError where it fails.

    Any thread may use it. Not for the event loop: it waits for the disk.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.to = 0
        self._spill: str | None = None  # nobody has looked yet
        self._end = 0
        self._text_to = 0  # behind this many bytes nothing was ever written
        self._file: int | None = None
        self._lock = Lock()

    @property
    def spill(self) -> str:
        """Which spill it holds entries of that are not known to be in the log; empty for none."""
        return self._spill or ""

    def read(self) -> SpilledPart | None:
        """What it holds; None for nothing, or where there is no such file.

        Raises LogFormatError for what was not written by this version, or is damaged at its head.
        """
        found = read_lines(self._bytes())
        return None if found is None else found[0]

    def take_up(self) -> SpilledPart | None:
        """As :meth:`read`, to append to it: the caller answers for what it holds."""
        data = self._bytes()
        found = read_lines(data)
        self._text_to = len(data.rstrip(b"\0"))
        if found is None:
            self._spill = ""
            return None
        part, self._end = found
        self._spill, self.to = part.heading.spill, part.heading.first + len(part.entries)
        return part

    def reserve(self) -> None:
        """Make room for what may come."""
        os.posix_fallocate(self._descriptor(), 0, RESERVED)
        os.fsync(self._descriptor())

    def append(self, heading: Heading, entries: Sequence[Entry]) -> None:
        """Return once all of these lie on the disk, ``heading.first`` the number of the first one.

        Those that it holds already are not written again. Where it ends before the first of them,
        all it holds is in the log: it begins anew. Raises FileExistsError where it holds what the
        log may not have: another spill, or one that was not read.
        """
        with self._lock:
            self._check_free_for(heading.spill)
            is_anew = not self._spill or self.to < heading.first
            lacking = entries if is_anew else entries[self.to - heading.first :]
            lines = b"".join(entry_line(heading.spill, entry) for entry in lacking)
            data = heading_line(heading) + lines if is_anew else lines
            begins = 0 if is_anew else self._end
            self._write(data.ljust(self._text_to - begins, b"\0"), begins)
            self._spill, self._end = heading.spill, begins + len(data)
            self._text_to = self._end
            self.to = max(heading.first if is_anew else self.to, heading.first + len(entries))

    def empty(self) -> None:
        """All that was read or written is in the log: leave no text of it; the room stays reserved.
        What was not read stays."""
        with self._lock:
            if self._spill is None:
                return
            self._spill = ""
            if not self._text_to:
                return
            if os.fstat(self._descriptor()).st_size > RESERVED:
                os.ftruncate(self._descriptor(), RESERVED)
            self._write(bytes(min(self._text_to, RESERVED)), 0)
            self._text_to = 0

    def set_aside(self) -> Path:
        """Give what cannot be read another name, and begin anew; that name."""
        aside = next(path for path in _names_aside(self.path) if not os.path.lexists(path))
        self.path.rename(aside)
        self._spill, self._text_to = "", 0
        return aside

    def close(self) -> None:
        """Let go of it; one that holds nothing is removed."""
        with suppress(OSError, LogFormatError):
            if self.read() is None:
                self.path.unlink(missing_ok=True)
        if self._file is not None:
            os.close(self._file)
            self._file = None

    def _check_free_for(self, spill: str) -> None:
        if self._spill is None:
            try:
                is_nothing = self.take_up() is None
            except LogFormatError as exc:
                raise FileExistsError(errno.EEXIST, f"what it holds is {exc}") from exc
            self._spill = "" if is_nothing else None
        if self._spill not in ("", spill):
            raise FileExistsError(errno.EEXIST, "what it holds is not in the log yet")

    def _bytes(self) -> bytes:
        try:
            descriptor = os.open(self.path, os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW)
        except FileNotFoundError:
            return b""
        with os.fdopen(descriptor, "rb") as file:
            return file.read(_LARGEST)

    def _write(self, data: bytes, begins: int) -> None:
        self._text_to = max(self._text_to, begins + len(data))
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


def set_aside_before(path: Path) -> list[SpillFile]:
    """Those that could not be read in this one's place, the oldest first."""
    named = re.compile(rf"{re.escape(path.stem)}\.unread-(\d+){re.escape(path.suffix)}")
    try:
        found = [m for file in path.parent.iterdir() if (m := named.fullmatch(file.name))]
    except OSError:
        return []
    return [SpillFile(path.with_name(m[0])) for m in sorted(found, key=lambda m: int(m[1]))]


def _names_aside(path: Path) -> Iterator[Path]:
    return (path.with_name(f"{path.stem}.unread-{n}{path.suffix}") for n in count(1))

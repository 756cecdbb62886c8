"""SQLite's write-ahead log, read from outside: where its commits end, and how it can be torn.

After "Database File Format", section 4, https://www.sqlite.org/fileformat2.html (The Write-Ahead
Log). Checksums are left to SQLite; a frame of an earlier round of the log is told by its salts.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from random import Random

_HEADER = struct.Struct(">8I")
_FRAME = struct.Struct(">6I")


@dataclass(frozen=True, slots=True)
class Frame:
    """One page as it was written; ``ends`` is where it ends in the file, bytes."""

    page: int
    is_commit: bool
    ends: int


def frames(wal: bytes) -> list[Frame]:
    """The whole frames of the log's present round, in order."""
    if len(wal) < _HEADER.size:
        return []
    _, _, page_size, _, *salts, _, _ = _HEADER.unpack_from(wal)
    found: list[Frame] = []
    at = _HEADER.size
    while (ends := at + _FRAME.size + page_size) <= len(wal):
        page, pages_after, *rest = _FRAME.unpack_from(wal, at)
        if rest[:2] != salts:
            break
        found.append(Frame(page, pages_after > 0, ends))
        at = ends
    return found


def last_commit(wal: bytes) -> int:
    """Where the last whole commit ends, bytes; 0 where there is none."""
    return max((frame.ends for frame in frames(wal) if frame.is_commit), default=0)


def has_open_commit(wal: bytes) -> bool:
    """Whether a commit was being written when the log was copied."""
    found = frames(wal)
    return bool(found) and not found[-1].is_commit


def tear(wal: Path, at: int) -> None:
    """Cut the log off at a byte."""
    wal.write_bytes(wal.read_bytes()[:at])


def tear_anywhere(wal: Path, rng: Random) -> None:
    """Cut the log off at any byte."""
    tear(wal, rng.randrange(wal.stat().st_size))


def zero_last_page(wal: Path) -> int:
    """Zero the last page of the log's present round; gives where the frame before it ends.

    Its frame stays: only what was to be in it did not reach the disk.
    """
    content = bytearray(wal.read_bytes())
    found = frames(bytes(content))
    begins = found[-2].ends if len(found) > 1 else _HEADER.size
    page_at = begins + _FRAME.size
    content[page_at : found[-1].ends] = bytes(found[-1].ends - page_at)
    wal.write_bytes(content)
    return begins

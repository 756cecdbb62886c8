"""A folder for files that are read a thousand times a second."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

_IN_MEMORY = Path("/dev/shm")
_held: list[TemporaryDirectory[str]] = []


def scratch() -> Path:
    """A new folder, in memory where the machine has such a place; gone with this process."""
    where = _IN_MEMORY if _IN_MEMORY.is_dir() else None
    _held.append(TemporaryDirectory(prefix="pullcall-fuzz-", dir=where))
    return Path(_held[-1].name)

"""Files that are the old one or the new one, never half of it, for their owner's eyes only."""

from __future__ import annotations

import os
from pathlib import Path


def replace_whole(path: Path, content: bytes, *, outlasts_power: bool = True) -> None:
    """Put ``content`` in a file's place, whole or not at all; where that fails it stays as it was.

    With ``outlasts_power`` this returns once neither the content nor the name can be lost, which
    waits for the disk. Raises OSError.
    """
    new = path.with_name(f"{path.name}.new")
    new.unlink(missing_ok=True)  # what a stop in the middle left
    try:
        with open(new, "xb", opener=_for_owner) as file:
            file.write(content)
            if outlasts_power:
                file.flush()
                os.fsync(file.fileno())
        new.replace(path)
    except OSError:
        new.unlink(missing_ok=True)
        raise
    if outlasts_power:
        sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Make the names in it last; until then a loss of power brings back the old ones. Raises
    OSError."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _for_owner(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)

"""Drives the library between a process and its disk, in a process that was begun with it."""

from __future__ import annotations

import ctypes
import os
import subprocess
from enum import IntFlag
from pathlib import Path

SOURCE = Path(__file__).with_name("failing_disk.c")
#: For ever, as far as a test is concerned.
FOR_EVER = 2**62


class Kind(IntFlag):
    """What may fail. Openings are those for writing, with making, renaming and removing; looks are
    openings for reading, and questions about a file and its disk."""

    WRITES = 1
    SYNCS = 2
    OPENINGS = 4
    LOOKS = 8


def build(compiler: str, folder: Path) -> Path:
    """The library, compiled into ``folder``. Raises subprocess.CalledProcessError."""
    library = folder / "failing_disk.so"
    command = [compiler, "-O1", "-shared", "-fPIC", "-o", str(library), str(SOURCE), "-ldl"]
    subprocess.run(command, check=True)
    return library


def environment(library: Path) -> dict[str, str]:
    """What a process is begun with to have such a disk."""
    return {**os.environ, "LD_PRELOAD": str(library)}


class FailingDisk:
    """Files below ``folder``, but for those whose names end in ``sparing``.

    A full disk still takes what is written into room that was reserved: that is spared then.
    """

    def __init__(self, folder: Path, sparing: str = "") -> None:
        self._library = ctypes.CDLL(None)
        self._library.disk_seen.restype = ctypes.c_long
        self._library.disk_on_main.restype = ctypes.c_long
        self._library.disk_last_on_main.restype = ctypes.c_char_p
        self._library.disk_watch(str(folder).encode(), sparing.encode())

    def fail(self, kinds: Kind, code: int, first: int, count: int = FOR_EVER) -> None:
        """Let ``count`` of what happens from now on fail with ``code``, from number ``first``."""
        end = min(first + count, FOR_EVER)
        self._library.disk_fail(int(kinds), code, ctypes.c_long(first), ctypes.c_long(end))

    def heal(self) -> None:
        """Let nothing fail any more."""
        self.fail(Kind(0), 0, 0, 0)

    def hold(self, on: bool) -> None:
        """Let everything hang until it is told to go on."""
        self._library.disk_hold(int(on))

    @property
    def seen(self) -> int:
        """How many things that could have failed happened since :meth:`fail`."""
        return int(self._library.disk_seen())

    @property
    def on_main(self) -> int:
        """How often the process's first thread touched the disk."""
        return int(self._library.disk_on_main())

    @property
    def last_on_main(self) -> str:
        """Which file it touched last."""
        return str(self._library.disk_last_on_main().decode())

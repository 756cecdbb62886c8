"""Where a board is served on this machine while it runs, so that links lead there."""

from __future__ import annotations

import fcntl
import json
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from hashlib import blake2b
from pathlib import Path

from pullcall.served_section import BoardSection

_NAME = "board.running"


@contextmanager
def told(page: BoardSection, secret: bytes, folder: Path) -> Iterator[None]:
    """Tell it in ``folder`` while the board runs, which holds the file's lock for so long.

    A second board beside it tells nothing, nor does one whose folder cannot be written; they run
    all the same.
    """
    with ExitStack() as stack:
        with suppress(OSError):
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            file = stack.enter_context((folder / _NAME).open("a+", encoding="ascii"))
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            file.truncate(0)
            json.dump({"host": page.host, "port": page.port, "takes": _mark(secret)}, file)
            file.flush()
        yield


def running(secret: bytes, folder: Path) -> tuple[str, int] | None:
    """Host and port of the board that runs here and takes links of ``secret``; None if none
    tells."""
    try:
        with (folder / _NAME).open(encoding="ascii") as file:
            if not _is_locked(file.fileno()):
                return None
            found = json.load(file)
            return (found["host"], found["port"]) if found["takes"] == _mark(secret) else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _is_locked(file: int) -> bool:
    """Whether somebody holds it; a program that was killed holds nothing."""
    try:
        fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    return False


def _mark(secret: bytes) -> str:
    """What tells secrets apart and gives none away."""
    return blake2b(key=secret, person=b"board.running", digest_size=16).hexdigest()

"""A log that cannot be used is kept under another name: nothing of it is deleted."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

from pullcall.errors import LogError, LogFormatError
from pullcall.log.database import LOG_ID

#: What SQLite keeps beside a database, and what says who writes it.
_BESIDE = ("-wal", "-shm", "-journal", ".lock", ".traces")
#: How every SQLite database begins, and where its application id stands in its head.
_MAGIC, _HEAD_BYTES, _OWNER_AT = b"SQLite format 3\0", 100, 68


def why_unusable(log: Path) -> str | None:
    """What is wrong with what stands in a log's place, where only another name for it helps;
    None where it may be a log, or where its folder cannot be written either."""
    if not os.path.lexists(log) or not os.access(log.parent, os.W_OK):
        return None
    if log.is_dir():
        return "a folder was in its place"
    if not log.is_file():
        return "something else was in its place"
    if log.stat().st_size == 0 and _was_used(log):
        return "it was empty"
    files = [log, *(_with_end(log, end) for end in _BESIDE)]
    if not all(os.access(file, os.R_OK | os.W_OK) for file in files if file.exists()):
        return "it belongs to another user"
    return None


def check_named(log: Path) -> None:
    """Raise LogFormatError where somebody named what never was a log: it is theirs, and stays.

    A log is known by its head, and where that is damaged by what was left beside it. Where
    nothing is, or an empty file, one can be begun.
    """
    if not os.path.lexists(log) or _was_used(log):
        return
    if log.is_dir():
        raise LogFormatError(
            f"{log} is a folder: give the path of a file with --log (or [log] path), for "
            f"example {log / 'cooks.db'}."
        )
    if not _may_be_log(log):
        raise LogFormatError(
            f"{log} is no cook log, and was left as it is: give another path with --log "
            f"(or [log] path)."
        )


def set_aside(log: Path, wall: datetime) -> Path:
    """Give a log and the files beside it another name, with the time in it; that name.

    Raises LogError where the folder does not let it.
    """
    names = (log.with_name(f"{log.name}.{wall:%Y%m%d-%H%M%S}{n}") for n in _numbers())
    aside = next(name for name in names if not os.path.lexists(name))
    try:
        for end in _BESIDE:  # the log last: until then the next start finds it damaged again
            file = _with_end(log, end)
            if os.path.lexists(file) and (end != ".lock" or not os.access(file, os.W_OK)):
                file.rename(_with_end(aside, end))
        log.rename(aside)
    except OSError as exc:
        raise LogError(f"The cook log {log} cannot be moved aside ({exc.strerror}).") from exc
    return aside


def _was_used(log: Path) -> bool:
    """Whether a log was written here before: whoever writes one leaves something beside it."""
    return any(_with_end(log, end).is_file() for end in _BESIDE)


def _may_be_log(log: Path) -> bool:
    """Whether a file begins as a database does, or says further on that it is a log."""
    if not log.is_file():
        return not log.exists()  # a link to nothing yet
    try:
        with log.open("rb") as file:
            head = file.read(_HEAD_BYTES)
    except OSError:
        return True  # whoever opens it says what is wrong
    owner = LOG_ID.to_bytes(4, "big")
    return not head or head.startswith(_MAGIC) or head[_OWNER_AT:].startswith(owner)


def _with_end(log: Path, end: str) -> Path:
    return log.with_name(log.name + end)


def _numbers() -> list[str]:
    return ["", *(f"-{n}" for n in range(2, 1000))]

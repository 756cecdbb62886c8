"""Everything of the log as one file, while it is being written, and back."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from pullcall.errors import LogError
from pullcall.log.backup_file import (
    CONFIG,
    DIGEST,
    KEPT,
    Backup,
    Restored,
    digest_of,
    is_whole,
)
from pullcall.log.database import BACKUP_ID, check_owner, connect, make_tables, pragma, translated
from pullcall.log.secrets_out import without_secrets
from pullcall.log.store import Store
from pullcall.whole_file import sync_folder

_PAGES_AT_ONCE = 64


def back_up(
    log: Path,
    to: Path,
    config: str | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> int:
    """Write the log as it is now into ``to``; the number of its cooks. Whoever writes the log
    goes on.

    ``config`` is the text of ``pullcall.toml``: kept without its secrets, or not at all where
    they cannot be told apart. ``progress`` hears pages done and pages in all. Nothing stands
    under the name ``to`` until the backup is whole; an earlier backup there is replaced.
    Raises LogError.
    """
    if not log.exists():
        raise LogError(f"There is no cook log at {log}: cook first, or name one with --log.")
    _check_target(to)
    part = to.with_name(f".{to.name}.part")
    try:
        _remove(part)
        part.touch(mode=0o600)
        with translated(log), closing(connect(log, "ro")) as source:
            check_owner(source, log)
            cooks = _write(source, part, config, progress)
        _settle(part, to)
    except OSError as exc:
        raise LogError(f"Cannot write {to} ({exc.strerror}): give another path.") from exc
    finally:
        _remove(part)
    return cooks


def restore(backup: Path, into: Path) -> Restored:
    """Add every cook of a backup that the log ``into`` does not have. Raises LogError, and then
    nothing was changed; the log is made if there is none."""
    with Backup(backup) as opened, Store(into) as store:
        return store.take_in(opened)


def _write(
    source: sqlite3.Connection,
    part: Path,
    config: str | None,
    progress: Callable[[int, int], None] | None,
) -> int:
    def step(_: int, remaining: int, total: int) -> None:
        if progress is not None:
            progress(total - remaining, total)

    source.execute("BEGIN")  # one look at the log, whatever is written meanwhile
    source.execute("SELECT count(*) FROM cooks").fetchone()
    with closing(sqlite3.connect(part, isolation_level=None)) as target:
        source.backup(target, pages=_PAGES_AT_ONCE, progress=step)
        target.execute("PRAGMA journal_mode = DELETE")  # a single file, nothing beside it
        make_tables(target)
        _keep(target, config)
        if not is_whole(target):
            raise LogError("The cook log is damaged: nothing was backed up. Export its cooks.")
        return int(target.execute("SELECT count(*) FROM cooks").fetchone()[0])


def _keep(target: sqlite3.Connection, config: str | None) -> None:
    """What makes a copy of the log a backup."""
    target.execute(KEPT)
    text = None if config is None else without_secrets(config)
    if text is not None:
        target.execute("INSERT INTO kept VALUES (?, ?)", (CONFIG, text))
    target.execute("INSERT INTO kept VALUES (?, ?)", (DIGEST, digest_of(target)))
    target.execute(f"PRAGMA application_id = {BACKUP_ID}")


def _check_target(to: Path) -> None:
    """Raise LogError where something else than an earlier backup would be replaced."""
    if not to.exists() or (to.is_file() and to.stat().st_size == 0):
        return
    try:
        with closing(connect(to, "ro")) as db:
            is_backup = to.is_file() and pragma(db, "application_id") == BACKUP_ID
    except sqlite3.DatabaseError:
        is_backup = False
    if not is_backup:
        raise LogError(f"{to} is there already and is no backup: give another name.")


def _settle(part: Path, to: Path) -> None:
    """Give the file its name once every byte is on the disk."""
    with part.open("rb") as file:
        os.fsync(file.fileno())
    part.replace(to)
    sync_folder(to.parent)


def _remove(part: Path) -> None:
    for name in (part.name, f"{part.name}-journal", f"{part.name}-wal", f"{part.name}-shm"):
        part.with_name(name).unlink(missing_ok=True)

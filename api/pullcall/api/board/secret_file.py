"""The secret of a board that was given none: made once, and for its owner's eyes only."""

from __future__ import annotations

import os
import re
import secrets
from pathlib import Path

from pullcall.api.board.passes import SECRET_BYTES
from pullcall.errors import ConfigError

_NAME = "board.secret"
_HEX = re.compile(rf"[0-9a-f]{{{2 * SECRET_BYTES}}}")

_CANNOT_KEEP = (
    "Cannot keep the board's secret in {path} ({why}): let this user write there, or set [board] "
    "secret."
)
_CANNOT_READ = (
    "Cannot read the board's secret in {path} ({why}): make links as the user that the board runs "
    "as, or set [board] secret."
)
_NONE_YET = (
    "No board has made its secret yet in {path}: start the board once as this user, or set "
    "[board] secret, the same wherever boards run and links are made."
)


def board_secret(given: str, folder: Path) -> bytes:
    """The secret ``given`` (hex), or the one kept in ``folder``, made if there is none.

    Raises ConfigError, saying what to do.
    """
    if given:
        return bytes.fromhex(given)
    path = folder / _NAME
    try:
        if not path.exists():
            _make(path)
        return _kept(path)
    except OSError as exc:
        raise ConfigError(_CANNOT_KEEP.format(path=path, why=exc.strerror)) from exc


def known_secret(given: str, folder: Path) -> bytes:
    """The secret ``given`` (hex), or the one kept in ``folder``: none is made, for no board would
    know it.

    Raises ConfigError, saying what to do.
    """
    if given:
        return bytes.fromhex(given)
    path = folder / _NAME
    try:
        return _kept(path)
    except FileNotFoundError as exc:
        raise ConfigError(_NONE_YET.format(path=path)) from exc
    except OSError as exc:
        raise ConfigError(_CANNOT_READ.format(path=path, why=exc.strerror)) from exc


def _kept(path: Path) -> bytes:
    text = path.read_text(encoding="ascii", errors="replace").strip()
    if _HEX.fullmatch(text) is None:
        raise ConfigError(
            f"{path} holds no secret of a board: delete it for a new one (links then have to be "
            "made anew), or put a copy of it back."
        )
    return bytes.fromhex(text)


def _make(path: Path) -> None:
    """Whole, or not at all; of two boards that start at once, both use the first one's."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = path.with_name(f"{_NAME}.{os.getpid()}")
    part.unlink(missing_ok=True)
    descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(descriptor, "w", encoding="ascii") as file:
            file.write(f"{secrets.token_hex(SECRET_BYTES)}\n")
            file.flush()
            os.fsync(file.fileno())
        path.hardlink_to(part)
    except FileExistsError:
        pass
    finally:
        part.unlink(missing_ok=True)

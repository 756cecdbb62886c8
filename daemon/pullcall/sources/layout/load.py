"""Layout files: TOML, checked, with messages that name file and key."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from pathlib import Path

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from pullcall.errors import LayoutError
from pullcall.sources.layout.model import Layout


def load_layouts(paths: Iterable[Path]) -> tuple[Layout, ...]:
    """Read several files, in order.

    :raises LayoutError: as :func:`load_layout`.
    """
    return tuple(load_layout(path) for path in paths)


def load_layout(path: Path) -> Layout:
    """Read one file.

    :raises LayoutError: it cannot be read; one line per wrong key, saying what to do.
    """
    try:
        declared = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise LayoutError(f"{path}: cannot be read ({error.strerror}); check the path") from error
    except (ValueError, RecursionError) as error:
        # Not TOML, not UTF-8, a number of thousands of digits, tables within tables without end.
        raise LayoutError(f"{path}: is not TOML ({error}); correct that line") from error
    try:
        return Layout.model_validate(declared)
    except ValidationError as error:
        lines = (f"{path}: {_sentence(detail)}" for detail in error.errors())
        raise LayoutError("\n".join(lines)) from error


def _sentence(detail: ErrorDetails) -> str:
    key = _key(detail["loc"])
    match detail["type"]:
        case "extra_forbidden":
            return f"{key}: unknown key; remove it or correct its spelling"
        case "missing":
            return f"{key}: is missing; add it"
        case "value_error":
            return f"{key}: {detail['ctx']['error']}"
        case _:
            return f"{key}: {detail['msg'][0].lower()}{detail['msg'][1:]}, not {detail['input']!r}"


def _key(path: tuple[int | str, ...]) -> str:
    """``("field", 0, "scale")`` as ``field[1].scale``, counted as people count."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text or "the file"

"""JSONPath as RFC 9535 has it, by the library that speaks it.

The library is loaded only where a path is used.
"""

from __future__ import annotations

from functools import cache
from itertools import islice
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jsonpath import CompoundJSONPath, JSONPath, JSONPathEnvironment

_LONGEST = 400


class Path:
    """One path, compiled."""

    def __init__(self, compiled: JSONPath | CompoundJSONPath) -> None:
        self._compiled = compiled

    def results(self, document: object, most: int) -> list[object]:
        """The values it finds, in order, so many at most. May raise anything on odd documents.

        A document that is one text is taken for JSON that was written as text.
        """
        found = self._compiled.finditer(document)  # type: ignore[arg-type]
        return [match.obj for match in islice(found, most)]


def compile_path(text: str) -> Path:
    """Compile a path. Raises ValueError, saying where it is wrong."""
    from jsonpath import JSONPathError

    if len(text) > _LONGEST:
        raise ValueError(f"a path has at most {_LONGEST} characters")
    try:
        return Path(_environment().compile(text))
    except (JSONPathError, RecursionError) as exc:
        reason = exc.args[0] if exc.args else type(exc).__name__
        raise ValueError(f"{text!r} is no JSONPath of RFC 9535 ({reason})") from exc


@cache
def _environment() -> JSONPathEnvironment:
    from jsonpath import JSONPathEnvironment

    return JSONPathEnvironment(strict=True)

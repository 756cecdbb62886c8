"""What is open until it is closed."""

from __future__ import annotations

from contextlib import ExitStack
from types import TracebackType
from typing import Self


class Held:
    """Closes what ``_undo`` holds, at the end of a ``with`` or when told; safe to close twice."""

    _undo: ExitStack

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of it."""
        self._undo.close()

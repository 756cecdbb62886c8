"""What broke in an attack."""

from __future__ import annotations

import gc
import hashlib
import sys
import traceback
from collections.abc import Callable
from itertools import count
from pathlib import Path

#: Rings of objects are let go this often, inputs: some hold arrays, which Python does not count.
_TIDY_EVERY = 64


class Findings:
    """What broke: an input and its traceback in a folder, once for each place."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._known: set[tuple[str, str]] = set()

    def guard(self, check: Callable[[bytes], None]) -> Callable[[bytes], None]:
        """``check``, whose failures are kept instead of ending the attack."""

        runs = count(1)

        def guarded(data: bytes) -> None:
            if next(runs) % _TIDY_EVERY == 0:
                gc.collect()
            try:
                check(data)
            except Exception as error:
                self._keep(data, error)

        return guarded

    def _keep(self, data: bytes, error: Exception) -> None:
        kind, place = type(error).__name__, _place_of(error)
        if (kind, place) in self._known:
            return
        self._known.add((kind, place))
        name = hashlib.sha256(data).hexdigest()[:12]
        (self._folder / name).write_bytes(data)
        (self._folder / f"{name}.txt").write_text("".join(traceback.format_exception(error)))
        print(f"FINDING {name}: {kind} at {place}", file=sys.stderr, flush=True)


def _place_of(error: Exception) -> str:
    """The innermost line of ours."""
    frames = traceback.extract_tb(error.__traceback__)
    own = [f for f in frames if "pullcall" in f.filename or "tests/fuzz" in f.filename] or frames
    return f"{Path(own[-1].filename).name}:{own[-1].lineno}"

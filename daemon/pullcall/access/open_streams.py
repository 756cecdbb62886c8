"""How many streams each phone has open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager


class OpenStreams:
    """Counts by the id of a pairing."""

    def __init__(self) -> None:
        self._streams: Counter[str] = Counter()

    @contextmanager
    def present(self, id: str | None) -> Iterator[None]:
        """Count a stream of this phone while it is open; None: this machine's own."""
        if id is None:
            yield
            return
        self._streams[id] += 1
        try:
            yield
        finally:
            self._streams[id] -= 1
            if not self._streams[id]:
                del self._streams[id]

    def __contains__(self, id: str) -> bool:
        return id in self._streams

    def of(self, id: str) -> int:
        """How many this phone has open."""
        return self._streams[id]

    @property
    def total(self) -> int:
        """How many all phones have open."""
        return self._streams.total()

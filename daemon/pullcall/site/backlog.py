"""What is not known to be in the log yet, numbered in the order it came."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pullcall.events import Reading
from pullcall.log.entries import Entry

#: With so many waiting (more than an hour of two probes) readings are thinned out ...
THINNED_FROM = 20_000
#: ... to one of each channel in so many seconds ...
THINNED_TO_S = 5.0
#: ... and with so many, about 100 MB, none is kept any more.
MOST = 100_000


class Backlog:
    """People's inputs, calls and whatever else is no reading are never dropped.

    ``base`` is the number of the first that waits, ``dropped`` counts readings that were not
    kept since something began to wait.
    """

    def __init__(self) -> None:
        self.base = 0
        self.dropped = 0
        self._entries: list[Entry] = []
        self._kept_t: dict[tuple[str, str | None], float] = {}  # each cook has times of its own

    def __len__(self) -> int:
        return len(self._entries)

    def add(self, entries: Iterable[Entry]) -> None:
        """Let these wait behind the others."""
        for entry in entries:
            if self._is_kept(entry):
                self._entries.append(entry)
            else:
                self.dropped += 1

    def take_up(self, first: int, entries: Sequence[Entry]) -> None:
        """Let these, that waited before, wait behind the others; ``first`` is the number of the
        first of them from now on."""
        self.base = first - len(self._entries)
        self._entries += entries

    def first(self, most: int | None = None) -> list[Entry]:
        """Those that waited longest."""
        return self._entries[:most]

    def since(self, number: int) -> list[Entry]:
        """Those from this number on."""
        return self._entries[max(0, number - self.base) :]

    def settle(self, count: int) -> None:
        """So many of the first are in the log."""
        del self._entries[:count]
        self.base += count
        if not self._entries:
            self.dropped = 0
            self._kept_t.clear()

    def _is_kept(self, entry: Entry) -> bool:
        reading = entry.what
        if not isinstance(reading, Reading) or len(self) < THINNED_FROM:
            return True
        channel = entry.cook, reading.channel or reading.steak
        before = self._kept_t.get(channel)
        if len(self) >= MOST or (before is not None and reading.t - before < THINNED_TO_S):
            return False
        self._kept_t[channel] = reading.t
        return True

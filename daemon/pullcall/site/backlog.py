"""What is not known to be in the log yet, numbered in the order it came."""

from __future__ import annotations

import enum
from collections.abc import Iterable, Sequence

from pullcall.events import Reading
from pullcall.log.entries import Entry

#: With so many waiting (more than an hour of two probes) readings are thinned out ...
THINNED_FROM = 20_000
#: ... to one of each channel in so many seconds ...
THINNED_TO_S = 5.0
#: ... and with so many, about 100 MB, none is kept any more.
MOST = 100_000


class Kept(enum.Enum):
    """Which of the readings that come now are kept, and a sentence on it for people."""

    ALL = ""
    FEW = f"Of readings only one of each probe in {THINNED_TO_S:g} s is kept."
    NONE = "No reading is kept any more, for too much waits; what people enter is."


class Backlog:
    """People's inputs, calls and whatever else is no reading are never dropped.

    ``base`` is the number of the first that waits, ``dropped`` counts the readings that were ever
    left out.
    """

    def __init__(self) -> None:
        self.base = 0
        self.dropped = 0
        self._entries: list[Entry] = []
        self._kept_t: dict[tuple[str, str | None], float] = {}  # each cook has times of its own

    def __len__(self) -> int:
        return len(self._entries)

    @property
    def kept(self) -> Kept:
        """Which readings are kept as long as so many wait."""
        if len(self) < THINNED_FROM:
            return Kept.ALL
        return Kept.FEW if len(self) < MOST else Kept.NONE

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
            self._kept_t.clear()

    def _is_kept(self, entry: Entry) -> bool:
        reading = entry.what
        if not isinstance(reading, Reading) or self.kept is Kept.ALL:
            return True
        channel = entry.cook, reading.channel or reading.steak
        before = self._kept_t.get(channel)
        if self.kept is Kept.NONE or (before is not None and reading.t - before < THINNED_TO_S):
            return False
        self._kept_t[channel] = reading.t
        return True

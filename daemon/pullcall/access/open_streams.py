"""How many streams each phone has open, and whether there is a place for another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

from pullcall.access.terms import PLACES, Places


class OpenStreams:
    """Counts by the id of a pairing; those that only watch have places of their own."""

    def __init__(self, places: Places = PLACES) -> None:
        self._places = places
        self._streams: Counter[str] = Counter()
        self._watching: Counter[str] = Counter()

    @contextmanager
    def present(self, id: str | None, watches: bool = False) -> Iterator[None]:
        """Count a stream of this phone while it is open; None: this machine's own."""
        if id is None:
            yield
            return
        counts = (self._streams, self._watching) if watches else (self._streams,)
        for count in counts:
            count[id] += 1
        try:
            yield
        finally:
            for count in counts:
                count[id] -= 1
                if not count[id]:
                    del count[id]

    def __contains__(self, id: str) -> bool:
        return id in self._streams

    def has_place(self, id: str | None, watches: bool) -> bool:
        """Whether this phone may open another stream.

        The first of a phone that watches takes none of the places of further ones, nor they of
        first ones: however many one phone opens, another still comes in.
        """
        if id is None:
            return True
        own, phones = self._streams[id], len(self._watching)
        if own >= self._places.of_a_phone:
            return False
        if not watches:
            return True
        if own == 0:
            return phones < self._places.watchers
        return self._watching.total() - phones < self._places.further

"""How many streams each phone has open, and whether there is a place for another."""

from __future__ import annotations

from collections import Counter
from contextlib import ExitStack

from pullcall.access.terms import PLACES, Places


class OpenStreams:
    """Counts by the id of a pairing; those that only watch have places of their own."""

    def __init__(self, places: Places = PLACES) -> None:
        self._places = places
        self._streams: Counter[str] = Counter()
        self._watching: Counter[str] = Counter()

    def take(self, id: str | None, watches: bool = False) -> ExitStack | None:
        """A place for a stream of this phone, taken until it is closed; None where there is none.

        None for ``id`` is this machine itself, which always has one.
        """
        if not self._has_place(id, watches):
            return None
        place = ExitStack()
        if id is not None:
            for count in (self._streams, self._watching) if watches else (self._streams,):
                count[id] += 1
                place.callback(_leave, count, id)
        return place

    def __contains__(self, id: str) -> bool:
        return id in self._streams

    def _has_place(self, id: str | None, watches: bool) -> bool:
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


def _leave(count: Counter[str], id: str) -> None:
    count[id] -= 1
    if not count[id]:
        del count[id]

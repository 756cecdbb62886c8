"""Which topics of a site the broker handed on since the way to it was last open."""

from __future__ import annotations

from pullcall.bus.channels import Place

#: All that the broker keeps of one site comes within this, seconds.
_COMES_WITHIN_S = 5.0

Slot = tuple[str, int | None]


def slot_of(place: Place) -> Slot:
    """The topic of a site that a place is."""
    return place.channel.name, place.lane


class Delivery:
    """What does not come again after a cut was taken back, or has expired, meanwhile.

    Nothing can be told of a site of which nothing comes at all: a broker may have lost what it
    kept, and the site will say it again. Times are the board's own seconds.
    """

    def __init__(self) -> None:
        self._came: set[Slot] = set()
        self._since: float | None = None
        self._is_owed = False

    def cut_off(self) -> None:
        """The way to the broker is no more: with the next one all comes again."""
        self._came.clear()
        self._since = None
        self._is_owed = True

    def came(self, slot: Slot, now: float) -> None:
        """The broker handed a topic on, kept or live."""
        self._came.add(slot)
        if self._since is None:
            self._since = now

    def has(self, slot: Slot) -> bool:
        """Whether a topic came since the last cut."""
        return slot in self._came

    def is_over(self, now: float, open_since: float) -> bool:
        """Whether all has come that will, told once for each cut; the board has followed every
        topic since ``open_since``."""
        if not self._is_owed or self._since is None:
            return False
        is_over = now >= max(self._since, open_since) + _COMES_WITHIN_S
        self._is_owed = not is_over
        return is_over

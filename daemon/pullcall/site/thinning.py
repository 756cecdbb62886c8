"""Which readings of a steak that waits a page can do without: hours before the cook stay small.

What a page shows stays the same at every second: a reading is left out where the one kept before it
is shown as the same temperature, in Fahrenheit and in Celsius, and the next reading comes before
that one would be called old.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from pullcall.events import Reading

#: Pages call a probe silent when its last reading is more than six seconds old.
_OLD_S = 5.0
_TENTH = Decimal("0.1")

Shown = tuple[Decimal, Decimal]


@dataclass(frozen=True, slots=True)
class _Taken:
    t: float
    shown: Shown
    place: int
    is_waiting: bool


class Thinning:
    """Follows the readings of every steak in order."""

    def __init__(self) -> None:
        self._kept: dict[str, _Taken] = {}
        self._last: dict[str, _Taken] = {}

    def read(self, reading: Reading, place: int, is_waiting: bool) -> int | None:
        """Take a reading of a steak; returns the place of the one before it if that can go."""
        steak = reading.steak or ""
        last, kept = self._last.get(steak), self._kept.get(steak)
        self._last[steak] = _Taken(reading.t, _shown(reading.celsius), place, is_waiting)
        if last is None:
            return None
        if kept and last.is_waiting and last.shown == kept.shown and reading.t - kept.t <= _OLD_S:
            return last.place
        self._kept[steak] = last
        return None


def _shown(celsius: float) -> Shown:
    """A temperature as pages write it, in either unit: to the tenth, halves up."""
    in_units = (celsius, celsius * 9 / 5 + 32)
    c, f = (Decimal(value).quantize(_TENTH, ROUND_HALF_UP) for value in in_units)
    return c, f

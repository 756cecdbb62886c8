"""What the chain of steps is made of for one cook."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pullcall.events import CookHeader, Range, SteakSettings
from pullcall.plan.steps import takes

#: A step's name, and its steak where each steak has its own.
Key = tuple[str, str | None]

_BEFORE_ON = ("season", "cold", "light", "pour", "heat_up", "fetch")
_OWN = ("cook", "rest")
_AFTER = ("box", "walk")


@dataclass(frozen=True, slots=True)
class Day:
    """The steaks, the cook's own durations, and the offset: how many seconds each steak is
    meant to go on after the one before."""

    steaks: tuple[SteakSettings, ...]
    durations: Mapping[str, Range]
    offset_s: float = 0.0

    @classmethod
    def of(cls, header: CookHeader) -> Day:
        """The day that a cook's settings mean."""
        return cls(header.steaks, header.durations, header.offset_s)

    def names(self) -> tuple[str, ...]:
        """The steaks' names, in the cook's order."""
        return tuple(s.steak for s in self.steaks)

    def takes(self, key: Key) -> Range:
        """How long a step takes before anything is known of it."""
        name, steak = key
        for of in self.steaks:
            if of.steak == steak:
                return takes(name, self.durations, of.thickness_mm)
        return takes(name, self.durations)


def keys(names: tuple[str, ...]) -> tuple[Key, ...]:
    """Every step of a day with these steaks, in its order."""
    own: list[Key] = [(name, steak) for name in _OWN for steak in names]
    return (*((name, None) for name in _BEFORE_ON), *own, *((name, None) for name in _AFTER))

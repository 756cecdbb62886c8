"""How far the day has got: what was marked, and what is forecast of each steak."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from pullcall.events import MarkKind, Quantiles


@dataclass(frozen=True, slots=True)
class SteakProgress:
    """What was marked of one steak (cook seconds), and its forecasts (seconds from now)."""

    steak: str
    on_t: float | None = None
    off_t: float | None = None
    boxed_t: float | None = None
    handed_in_t: float | None = None
    pull_in_s: Quantiles | None = None
    rest_in_s: float | None = None

    def settled(self) -> SteakProgress:
        """With what a later mark implies: what is in the box is off, what is off was on."""
        boxed_t = _first(self.boxed_t, self.handed_in_t)
        off_t = _first(self.off_t, boxed_t)
        return replace(self, boxed_t=boxed_t, off_t=off_t, on_t=_first(self.on_t, off_t))


@dataclass(frozen=True, slots=True)
class Progress:
    """Marks of the morning by kind with when they happened, the steaks in the cook's order
    (missing ones have not begun), and whether the grate is over its floor (None: not known)."""

    done: Mapping[MarkKind, float] = field(default_factory=lambda: MappingProxyType({}))
    steaks: tuple[SteakProgress, ...] = ()
    grate_over_floor: bool | None = None

    def steak(self, name: str) -> SteakProgress:
        """That steak's progress; nothing if it is not among them."""
        return next((s for s in self.steaks if s.steak == name), SteakProgress(name))

    def first(self, attribute: str) -> float | None:
        """The earliest of a steak's times, such as ``on_t``; None before any."""
        times = [getattr(s, attribute) for s in self.steaks]
        return min((t for t in times if t is not None), default=None)

    def settled(self, now: float) -> Progress:
        """With what later marks imply: nobody taps everything, and a steak that is on was
        fetched, a grate that is hot was lit."""
        steaks = tuple(s.settled() for s in self.steaks)
        first_on = replace(self, steaks=steaks).first("on_t")
        hot = now if self.grate_over_floor else None
        fetched = _first(self.done.get(MarkKind.FETCHED), first_on)
        poured = _first(self.done.get(MarkKind.POURED), first_on, hot)
        implied = {
            MarkKind.SEASONED: _first(self.done.get(MarkKind.SEASONED), fetched),
            MarkKind.FETCHED: fetched,
            MarkKind.LIT: _first(self.done.get(MarkKind.LIT), poured),
            MarkKind.POURED: poured,
        }
        done = {kind: t for kind, t in implied.items() if t is not None}
        return replace(self, done=MappingProxyType(done), steaks=steaks)


def _first(*times: float | None) -> float | None:
    """The first that is known."""
    return next((t for t in times if t is not None), None)

"""What is noted of one steak while its cook is worked out anew."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from pullcall.core.cook import Cook, Effect
from pullcall.core.phase import Phase
from pullcall.events import Call, CallKind, Forecast, Input, Normal, Reading
from pullcall.forecast.trouble import SETTLES

_FIGURE = re.compile(r"\d+")


class SteakWatch:
    """Follows one steak through the pass. Times are cook seconds, temperatures Celsius.

    ``told`` are its forecasts, ``offset_c`` and ``believed`` those as it last came off; what the
    pull was aimed at last changed at ``aimed_t`` while it was on.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.readings: list[tuple[float, float]] = []
        self.told: list[Forecast] = []
        self.rested_t: float | None = None
        self.aimed_t = -math.inf
        self.offset_c = self.climbs_more_c = 0.0
        self.believed: Mapping[str, Normal] = MappingProxyType({})
        self._now: dict[str, float] = {}
        self._notes: dict[str, str] = {}
        self._aim: tuple[object, ...] = ()
        self._off_t: float | None = None

    def __call__(
        self, event: Input | None, effects: Sequence[Effect], t: float, cook: Cook
    ) -> None:
        """Take one step of the pass."""
        if isinstance(event, Reading):
            if event.steak == self.name:
                self.readings.append((event.t, event.celsius))
        elif event is not None:
            self._look(t, cook)
        for effect in effects:
            if isinstance(effect, Forecast) and effect.steak == self.name:
                self.told.append(effect)
                self._note(effect.note)
            elif isinstance(effect, Call) and self.name in effect.steaks:
                self._hear(effect)

    @property
    def now_t(self) -> float | None:
        """When the last "pull now" was called first; repeats do not count."""
        return list(self._now.values())[-1] if self._now else None

    @property
    def notes(self) -> tuple[str, ...]:
        """The troubles that were told of its readings; of equal ones the longest."""
        return tuple(self._notes.values())

    def told_near(self, t: float, within_s: float) -> Forecast | None:
        """The forecast made nearest to ``t``."""
        nearest = min(self.told, key=lambda forecast: abs(forecast.t - t), default=None)
        return nearest if nearest is not None and abs(nearest.t - t) <= within_s else None

    def _look(self, t: float, cook: Cook) -> None:
        """See what an act or a setting changed."""
        steak = cook.steaks[self.name]
        own, carry_over = steak.settings, cook.setup.carry_over
        aim = (own.pull_c, own.pull_by, own.shift_c, own.target_c, carry_over)
        if steak.phase is Phase.ON and self._aim and aim != self._aim:
            self.aimed_t = t
        self._aim = aim
        if steak.off_t is not None and steak.off_t != self._off_t:
            self.offset_c = cook.offset_c(self.name)
            self.climbs_more_c = cook.climbs_more_c(self.name)
            self.believed = MappingProxyType(dict(cook.believed(self.name)))
        self._off_t = steak.off_t

    def _hear(self, call: Call) -> None:
        if call.call is CallKind.PULL_NOW:
            self._now.setdefault(call.id, call.t)
        elif call.call is CallKind.REST_DONE and self.rested_t is None:
            self.rested_t = call.t

    def _note(self, note: str | None) -> None:
        """A note that counts seconds is one note, whose figure grows."""
        if note is None or note == SETTLES:
            return
        kind = _FIGURE.sub("#", note)
        if _figure(note) >= _figure(self._notes.get(kind, "")):
            self._notes[kind] = note


def _figure(note: str) -> float:
    found = _FIGURE.search(note)
    return float(found[0]) if found else 0.0

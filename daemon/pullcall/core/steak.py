"""Where one steak stands: its phase, its place in the pattern, and how its probe is doing."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import replace
from statistics import median

from pullcall.core.phase import Phase
from pullcall.core.ranges import is_meant
from pullcall.events import (
    Mark,
    MarkKind,
    PlannedMark,
    PullBy,
    Reading,
    Setting,
    Spot,
    SteakSettings,
)

#: A planned turn or flip that nobody tapped is passed over this long after it was due, seconds.
LAPSE_S = 20.0
_INTERVALS_KEPT = 15
_NUMBERS = ("pull_c", "thickness_mm", "start_c", "shift_c")


def changed(settings: SteakSettings, setting: Setting) -> SteakSettings:
    """``settings`` with one setting changed; one that a steak does not have, or cannot have so (in
    a log of elsewhere), changes nothing."""
    name, value = setting.name, setting.value
    if name in _NUMBERS and isinstance(value, float) and is_meant(name, value):
        return replace(settings, **{name: value})  # type: ignore[arg-type]
    if name == "target_c" and (
        value is None or (isinstance(value, float) and is_meant(name, value))
    ):
        return replace(settings, target_c=value)
    if name == "channel" and not isinstance(value, float):
        return replace(settings, channel=value)
    if name == "pull_by" and value in tuple(PullBy):
        return replace(settings, pull_by=PullBy(str(value)))
    if name == "look" and not isinstance(value, float):
        return replace(settings, look=value or "")
    return settings


class SteakState:
    """Follows one steak through its marks and readings. Times are cook seconds."""

    def __init__(self, settings: SteakSettings, plan: tuple[PlannedMark, ...]) -> None:
        self.settings = settings
        self.phase = Phase.WAITING
        self.on_t: float | None = None
        self.off_t: float | None = None
        self.boxed_t: float | None = None
        self.handed_in_t: float | None = None
        self.handled_t = self.flipped_t = -math.inf
        self.last_spot: Spot | None = None
        self.last_reading: Reading | None = None
        self.heard = 0
        self.assigned_t = -math.inf
        self._plan = plan
        self._place = 0
        self._intervals: deque[float] = deque(maxlen=_INTERVALS_KEPT)

    @property
    def name(self) -> str:
        """The steak's name, as the cook gave it."""
        return self.settings.steak

    def read(self, reading: Reading) -> None:
        """Note that the probe spoke."""
        if self.last_reading is not None and reading.t > self.last_reading.t:
            self._intervals.append(reading.t - self.last_reading.t)
        self.last_reading = reading
        self.heard += 1

    def check(self, spot: Spot) -> None:
        """Note that the steak was checked by hand."""
        self.last_spot = spot

    def set(self, setting: Setting) -> None:
        """Take a changed setting; one that a steak does not have is ignored."""
        if setting.name == "channel" and setting.value != self.settings.channel:
            self.last_reading, self.assigned_t = None, setting.t
        self.settings = changed(self.settings, setting)

    def mark(self, mark: Mark) -> bool:
        """Take a mark; one that makes no sense in this phase changes nothing and gives False."""
        if not self.allows(mark.mark):
            return False
        self.handled_t = mark.happened
        if mark.mark is MarkKind.ON:
            self.phase, self.on_t, self.off_t, self._place = Phase.ON, mark.happened, None, 0
        elif mark.mark is MarkKind.OFF:
            self.phase, self.off_t = Phase.RESTING, mark.happened
        elif mark.mark is MarkKind.BOXED:
            self.phase, self.boxed_t = Phase.BOXED, mark.happened
        elif mark.mark is MarkKind.HANDED_IN:
            self.phase, self.handed_in_t = Phase.HANDED_IN, mark.happened
        elif mark.mark in (MarkKind.TURN, MarkKind.FLIP):
            self.flipped_t = mark.happened if mark.mark is MarkKind.FLIP else self.flipped_t
            self._pass_planned(mark)
        return True

    def allows(self, kind: MarkKind) -> bool:
        """Whether a mark of this kind makes sense now."""
        if kind is MarkKind.ON:
            return self.phase is Phase.WAITING
        if kind in (MarkKind.TURN, MarkKind.FLIP, MarkKind.OFF):
            return self.phase is Phase.ON
        if kind is MarkKind.BASTE:
            return self.phase in (Phase.ON, Phase.RESTING)
        if kind is MarkKind.BOXED:
            return self.phase is Phase.RESTING
        if kind is MarkKind.HANDED_IN:
            return self.phase in (Phase.RESTING, Phase.BOXED)
        return True

    def next_planned(self, now: float) -> tuple[PlannedMark, float] | None:
        """The next turn or flip and when it is due; lapsed ones are passed over."""
        if self.phase is not Phase.ON or self.on_t is None:
            return None
        for planned in self._plan[self._place :]:
            due = self.on_t + planned.t
            if now < due + LAPSE_S:
                return planned, due
        return None

    def next_flip_t(self, now: float) -> float | None:
        """When the next flip of the pattern is due; None: no more, or it lapsed."""
        on_t = self.on_t or 0.0
        flips = [on_t + p.t for p in self._plan[self._place :] if p.mark is MarkKind.FLIP]
        return min((due for due in flips if now < due + LAPSE_S), default=None)

    @property
    def ought_to_speak(self) -> bool:
        """Whether it has a probe, be it one that was never heard or is silent now."""
        return self.last_reading is not None or self.settings.channel is not None

    def silence(self, now: float) -> float | None:
        """Seconds without a reading from the probe that ought to speak; None: there is none."""
        if self.last_reading is not None:
            return now - self.last_reading.t
        if self.settings.channel is None or self.on_t is None:
            return None
        return now - max(self.on_t, self.assigned_t)

    def reading_age(self, now: float) -> float | None:
        """Seconds since the last reading; None while there was none."""
        return None if self.last_reading is None else now - self.last_reading.t

    def interval(self) -> float:
        """The probe's usual interval, seconds; 1 while too few readings came to tell."""
        return median(self._intervals) if len(self._intervals) >= 3 else 1.0

    def wanted_t(self, mark: Mark) -> float | None:
        """When the pattern wanted this turn or flip; None where it has no more of its kind."""
        place = self._place_of(mark)
        return None if place is None else (self.on_t or 0.0) + self._plan[place].t

    def _pass_planned(self, mark: Mark) -> None:
        place = self._place_of(mark)
        if place is not None:
            self._place = place + 1

    def _place_of(self, mark: Mark) -> int | None:
        """The planned mark of this kind that lies nearest in time, of those still to come."""
        since_on = mark.happened - (self.on_t or 0.0)
        open_ones = [
            (abs(planned.t - since_on), place)
            for place, planned in enumerate(self._plan)
            if place >= self._place and planned.mark is mark.mark
        ]
        return min(open_ones)[1] if open_ones else None

"""What is remembered of one steak: its last readings, spots and marks, in bounded memory."""

from __future__ import annotations

import math
from collections import deque

import numpy as np

from pullcall.events import Mark, MarkKind, SteakSettings
from pullcall.forecast.noise import ProbeNoise
from pullcall.forecast.reseat import SIDE, step_of
from pullcall.forecast.rise_rate import Array

#: Readings kept, by number and by age in s: five of the usual forgetting times.
READINGS, READINGS_S = 512, 80.0
SPOTS = 6
#: Temperatures a core cannot have are broken readings, C.
POSSIBLE_C = (-40.0, 150.0)
#: The highest core is that of the median over this long, s, of at least three readings.
STEADY_S = 10.0

#: Marks that change how heat enters the steak.
HEAT_MARKS = frozenset({MarkKind.ON, MarkKind.TURN, MarkKind.FLIP, MarkKind.BASTE})
#: Marks after which the steak is no longer on the grate.
OFF_MARKS = frozenset({MarkKind.OFF, MarkKind.BOXED, MarkKind.HANDED_IN})


class Series:
    """A bounded series of (t, celsius), times strictly rising."""

    def __init__(self, longest: int, oldest_s: float = math.inf) -> None:
        self._points: deque[tuple[float, float]] = deque(maxlen=longest)
        self._oldest_s = oldest_s

    def __len__(self) -> int:
        return len(self._points)

    @property
    def last_t(self) -> float:
        """Time of the last value; minus infinity while there is none."""
        return self._points[-1][0] if self._points else -math.inf

    def add(self, t: float, celsius: float) -> bool:
        """Keep one value; False if it is impossible or not later than the last."""
        if not (math.isfinite(t) and POSSIBLE_C[0] <= celsius <= POSSIBLE_C[1]):
            return False
        if self._points and t <= self._points[-1][0]:
            return False
        self._points.append((t, celsius))
        while self._points[0][0] < t - self._oldest_s:
            self._points.popleft()
        return True

    def until(self, now: float) -> tuple[Array, Array]:
        """Times and temperatures no later than ``now``."""
        kept = [p for p in self._points if p[0] <= now]
        both = np.array(kept, dtype=np.float64).reshape(-1, 2)
        return both[:, 0], both[:, 1]

    def latest(self) -> list[tuple[float, float]]:
        """The first value and the last few: what tells whether the probe was moved."""
        last = [self._points[-i] for i in range(min(2 * SIDE, len(self._points)), 0, -1)]
        return [self._points[0], *last] if len(self._points) > 2 * SIDE else last

    def lift(self, by_c: float, but_last: int) -> None:
        """Add ``by_c`` to all values but the last few, as if read at the new place."""
        last = len(self._points) - but_last
        lifted = [(t, c + by_c if i < last else c) for i, (t, c) in enumerate(self._points)]
        self._points.clear()
        self._points.extend(lifted)

    def steady_c(self) -> float | None:
        """Median of the last STEADY_S, C; None with fewer than three values there."""
        end = self._points[-1][0]
        recent = []
        for t, celsius in reversed(self._points):
            if t < end - STEADY_S:
                break
            recent.append(celsius)
        return float(np.median(recent)) if len(recent) >= 3 else None


class SteakTrack:
    """One steak's settings and recent past. Nothing here raises on odd data."""

    def __init__(self, settings: SteakSettings) -> None:
        self.pull_c = settings.pull_c
        self.start_c = settings.start_c
        self.channel = settings.channel
        self.on_t: float | None = None
        self.off_t: float | None = None
        self.disturbed_t: float | None = None
        self.highest_c: float | None = None
        self._new_probe()
        self.spots = Series(SPOTS)

    def _new_probe(self) -> None:
        self.readings = Series(READINGS, READINGS_S)
        self.noise = ProbeNoise()

    def read(self, t: float, celsius: float) -> None:
        """Take a reading."""
        if not self.readings.add(t, celsius):
            return
        self.noise.add(t, celsius)
        step = step_of(self.readings.latest(), self.noise.sigma_c)
        if step:
            self.readings.lift(step, but_last=SIDE)
            self.disturbed_t = t
        steady = self.readings.steady_c()
        if steady is not None:
            self._reached(steady)

    def spot(self, t: float, celsius: float) -> None:
        """Take a hand-held check."""
        if self.spots.add(t, celsius) and not len(self.readings):
            self._reached(celsius)

    def mark(self, mark: Mark) -> None:
        """Take a mark; it is known to be this steak's."""
        happened = mark.happened
        if mark.mark is MarkKind.ON:
            self.on_t, self.off_t, self.highest_c = happened, None, None
        if mark.mark in OFF_MARKS and self.off_t is None:
            self.off_t = happened
        if mark.mark in HEAT_MARKS:
            self.disturbed_t = happened

    def set(self, name: str, value: float | str | None) -> None:
        """Take a changed setting: another pull temperature or another probe."""
        if isinstance(value, int | float) and math.isfinite(value):
            if name == "pull_c":
                self.pull_c = float(value)
            if name == "start_c":
                self.start_c = float(value)
        if name == "channel" and (value is None or isinstance(value, str)):
            if value != self.channel:
                self._new_probe()
            self.channel = value

    def _reached(self, celsius: float) -> None:
        self.highest_c = celsius if self.highest_c is None else max(self.highest_c, celsius)

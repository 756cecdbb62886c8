"""When the core truly crossed the pull temperature, and how high it truly climbed.

From what a probe showed before and after, which no forecast had. "True" means at the probe's
place, without its noise. Held against simulated cooks whose truth is known (tests/hindsight has
the tolerances) half of the crossings are found within 0.7 s and all within 3 s, peaks within
0.2 C. A core that rises by 0.02 C a second behind a probe of 0.2 C noise is the worst of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pullcall.forecast.engine import POSSIBLE_C
from pullcall.forecast.rise_rate import Array
from pullcall.hindsight.facts import Trace
from pullcall.hindsight.smooth import Smooth, pieces

#: A core goes on for this long after off as if it were on: heat takes that long to the middle, s.
_GOES_ON_S = 10.0
#: The last rise is carried on for so long and no longer, s.
CARRIED_ON_S = 30.0
#: Looked at this often, s, from so far below the level on, C.
_STEP_S, _BELOW_C = 2.0, 4.0
_REST_STEP_S = 4.0
#: The peak was passed where the core fell by so much since, C, or rose by no more in so long, s.
_FELL_C, _LEVEL_C, _LEVEL_S = 0.2, 0.1, 60.0


@dataclass(frozen=True, slots=True)
class Crossing:
    """When the core crossed, cook seconds; ``is_extrapolated``: beyond off or the readings."""

    t: float
    is_extrapolated: bool


@dataclass(frozen=True, slots=True)
class Peak:
    """The highest core of the rest, and when; cook seconds and Celsius."""

    t: float
    celsius: float


class TrueCore:
    """One steak's core as its probe showed it around off.

    ``off_t`` None: still on. Readings before the probe was last moved say nothing of the place
    it was in at the pull; those after it was pulled out say nothing of the rest.
    """

    def __init__(self, readings: Trace, on_t: float, off_t: float | None) -> None:
        self._on_t, self._off_t = on_t, off_t
        possible = tuple(r for r in readings if POSSIBLE_C[0] <= r[1] <= POSSIBLE_C[1])
        around = readings[-1][0] if readings and off_t is None else off_t
        held = [p for p in pieces(possible) if around is not None and p[0][0] <= around]
        self._smooth = Smooth(held[-1] if held else ())

    def crossing(self, level_c: float) -> Crossing | None:
        """When the core first crossed ``level_c``; None where the readings do not tell."""
        t = self._smooth.t
        near = np.flatnonzero((t >= self._on_t) & (self._smooth.celsius >= level_c - _BELOW_C))
        if not len(near):
            return None
        last_t = float(t[-1]) if self._off_t is None else self._off_t + _GOES_ON_S
        times = np.arange(max(self._on_t, t[near[0]] - 30.0), last_t + _STEP_S, _STEP_S)
        shown = self._smooth.over(times)
        told = np.flatnonzero(~np.isnan(shown))
        if len(told) and shown[told[0]] >= level_c:
            return None
        up = np.flatnonzero((shown[:-1] < level_c) & (shown[1:] >= level_c))
        if len(up):
            share = (level_c - shown[up[0]]) / (shown[up[0] + 1] - shown[up[0]])
            return self._at(float(times[up[0]] + share * _STEP_S))
        is_over = bool(len(told)) and shown[told[-1]] >= level_c
        return None if is_over else self._carried_on(level_c)

    def at_off_c(self) -> float | None:
        """The core as it came off."""
        if self._off_t is None:
            return None
        found = self._smooth.at(self._off_t)
        if found is not None:
            return found
        fit = self._smooth.rise_until(self._off_t + _GOES_ON_S)
        is_near = fit is not None and abs(self._off_t - fit.at) <= CARRIED_ON_S
        return fit.moved(self._off_t).core_c if fit is not None and is_near else None

    def peak(self) -> Peak | None:
        """The peak of the rest; None unless readings went past it."""
        if self._off_t is None or not len(self._smooth.t):
            return None
        times = np.arange(self._off_t, self._smooth.t[-1], _REST_STEP_S)
        shown = self._smooth.over(times)
        told = ~np.isnan(shown)
        times, shown = times[told], shown[told]
        if len(times) < 2 or not _is_past_peak(times, shown):
            return None
        highest = int(shown.argmax())
        return Peak(float(times[highest]), float(shown[highest]))

    def _carried_on(self, level_c: float) -> Crossing | None:
        """Up to half a minute on from the last reading, and from off."""
        if self._off_t is None:
            return None
        fit = self._smooth.rise_until(self._off_t + _GOES_ON_S)
        if fit is None:
            return None
        until = min(self._off_t, fit.at) + CARRIED_ON_S
        for t in np.arange(fit.at - 2.0 * _GOES_ON_S, until, 0.1):
            if fit.moved(float(t)).core_c >= level_c:
                return self._at(float(t))
        return None

    def _at(self, t: float) -> Crossing:
        last_t = min(float(self._smooth.t[-1]), self._off_t or np.inf)
        return Crossing(round(t, 2), t > last_t)


def _is_past_peak(times: Array, shown: Array) -> bool:
    """Whether the core fell since its highest, or was level at the end."""
    if shown.max() - shown[-1] >= _FELL_C:
        return True
    if times[-1] - times[0] < _LEVEL_S:
        return False
    before = float(np.interp(times[-1] - _LEVEL_S, times, shown))
    return bool(shown[-1] - before <= _LEVEL_C)

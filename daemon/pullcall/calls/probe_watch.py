"""Watches one steak's probe while the steak is on: whether it speaks, and makes sense."""

from __future__ import annotations

import math
from collections import deque
from statistics import median

from pullcall.calls.rules import (
    FALL_C,
    FALL_S,
    GOOD_READINGS,
    JUMP_C,
    JUMP_S,
    LOST_FAR_S,
    LOST_INTERVALS,
    LOST_S,
    QUIET_AFTER_MARK_S,
    STEADY_S,
)
from pullcall.core.phase import Phase
from pullcall.core.steak import SteakState
from pullcall.events import Reading

#: Two spikes among this many readings do not move their median.
_BEFORE = 5


class ProbeWatch:
    """Lost after a silence, wrong after a slip that stays; found again after good readings."""

    def __init__(self) -> None:
        self.is_lost = False
        self._heard_when_lost = 0
        self._latest: deque[Reading] = deque(maxlen=_BEFORE + GOOD_READINGS)
        self._slipped_t = -math.inf
        self._now = -math.inf

    def see(self, steak: SteakState, now: float, is_near: bool) -> None:
        """Look at the steak's probe at ``now``; ``is_near``: the pull is due soon."""
        self._now = now
        if steak.phase is not Phase.ON:
            self.is_lost = False
            self._latest.clear()
            self._slipped_t = -math.inf
            return
        self._see_silence(steak, now, LOST_S if is_near else LOST_FAR_S)
        self._see_slip(steak)

    @property
    def is_wrong(self) -> bool:
        """Whether the probe moved, and nothing has decided since."""
        return self._now - self._slipped_t < STEADY_S

    def _see_silence(self, steak: SteakState, now: float, least_s: float) -> None:
        age = steak.silence(now)
        if age is None:
            self.is_lost = False
        elif age > max(least_s, LOST_INTERVALS * steak.interval()):
            self.is_lost, self._heard_when_lost = True, steak.heard
        elif self.is_lost:
            self.is_lost = steak.heard - self._heard_when_lost < GOOD_READINGS

    def _see_slip(self, steak: SteakState) -> None:
        """Three readings in a row far from those before them; a spot decides the matter."""
        if steak.last_spot is not None and steak.last_spot.t > self._slipped_t:
            self._slipped_t = -math.inf
        newest = steak.last_reading
        if newest is None or (self._latest and newest.t <= self._latest[-1].t):
            return
        if self._latest and newest.t - self._latest[-1].t > FALL_S:
            self._latest.clear()  # what the core did in a silence is no slip
        self._latest.append(newest)
        if self._now - steak.handled_t < QUIET_AFTER_MARK_S:
            self._latest.clear()
        elif len(self._latest) == self._latest.maxlen and self._has_slipped():
            self._slipped_t = self._now
            self._latest.clear()

    def _has_slipped(self) -> bool:
        before = list(self._latest)[:_BEFORE]
        after = list(self._latest)[_BEFORE:]
        gap = after[0].t - before[-1].t
        level = median(reading.celsius for reading in before)
        # The slowest of the three has to be off: a spike that comes back is none.
        fell = level - max(reading.celsius for reading in after)
        rose = min(reading.celsius for reading in after) - level
        return (fell > FALL_C and gap <= FALL_S) or (rose > JUMP_C and gap <= JUMP_S)

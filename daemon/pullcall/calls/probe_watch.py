"""Watches whether one steak's probe still speaks while the steak is on."""

from __future__ import annotations

from pullcall.calls.rules import GOOD_READINGS, LOST_INTERVALS, LOST_S
from pullcall.core.steak import Phase, SteakState


class ProbeWatch:
    """Lost after a silence; found again after a few good readings."""

    def __init__(self) -> None:
        self.is_lost = False
        self._heard_when_lost = 0

    def see(self, steak: SteakState, now: float) -> None:
        """Look at the steak's probe at ``now``."""
        age = steak.silence(now)
        if age is None or steak.phase is not Phase.ON:
            self.is_lost = False
            return
        limit = max(LOST_S, LOST_INTERVALS * steak.interval())
        if age > limit:
            self.is_lost, self._heard_when_lost = True, steak.heard
        elif self.is_lost:
            self.is_lost = steak.heard - self._heard_when_lost < GOOD_READINGS

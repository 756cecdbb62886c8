"""The fire, from a probe at the grate or from infrared checks tapped in."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pullcall.events import FireSettings
from pullcall.fire.state import FireState
from pullcall.fire.trail import PROBE, SPOTS, Trail

#: Readings say nothing of the fire while the lid is open and this long after it closed, seconds:
#: the air over the grate recovers with a time constant of well under a minute (assumed).
LID_RECOVERY_S = 30.0
#: A lid left open this long, seconds, is how the cook cooks: what the probe then shows, counts.
LID_LEFT_OPEN_S = 120.0
#: A fall slower than this, kelvin per minute, is not falling: it is within what a steady fire
#: wanders, and would take an hour for the usual 30 C above the floor.
FALLING_C_PER_MIN = 0.5


@dataclass(frozen=True, slots=True)
class FireReport:
    """The fire at ``t``, cook seconds.

    ``celsius`` is its robust level, ``age_s`` seconds old; ``trend_c_per_min`` None while it
    cannot be told; ``floor_in_s`` the time until it falls below the floor at this trend, 0 when
    it is below and falling, None when it is not falling.
    """

    t: float
    celsius: float
    age_s: float
    trend_c_per_min: float | None
    floor_in_s: float | None
    state: FireState


class Fire:
    """Follows the fire through readings, spots and lid marks, in time order."""

    def __init__(self, settings: FireSettings) -> None:
        self.settings = settings
        self._probe = Trail(PROBE)
        self._spots = Trail(SPOTS)
        self._opened_t: float | None = None
        self._closed_t = -math.inf

    def set(self, settings: FireSettings) -> None:
        """Take other settings; another channel is another place, so its trail starts anew."""
        if settings.channel != self.settings.channel:
            self._probe = Trail(PROBE)
        self.settings = settings

    def read(self, t: float, celsius: float) -> None:
        """Take a reading of the grate's probe; one that is no number or out of order is dropped."""
        if self._probe.hear(t, celsius) and not self._is_lid_dip(t):
            self._probe.keep(t, celsius)

    def spot(self, t: float, celsius: float) -> None:
        """Take an infrared check. It counts with the lid open too: that is how it is made."""
        if self._spots.hear(t, celsius):
            self._spots.keep(t, celsius)

    def lid(self, t: float, is_open: bool) -> None:
        """The lid was opened or closed: the dip that follows is not a falling fire."""
        if is_open:
            self._opened_t = t if self._opened_t is None else self._opened_t
        elif self._opened_t is not None:
            self._opened_t, self._closed_t = None, t

    def report(self, now: float) -> FireReport | None:
        """The fire at ``now``; None while nothing was ever heard of it."""
        trail = self._speaking(now)
        if trail is None:
            return None
        celsius, level_t, last_t = trail.level()
        slope = trail.slope()
        return FireReport(
            t=now,
            celsius=round(celsius, 2),
            age_s=round(now - last_t, 3),
            trend_c_per_min=None if slope is None else round(slope * 60.0, 2),
            floor_in_s=self._floor_in_s(celsius, level_t, slope, now),
            state=self._state(trail, celsius, now),
        )

    def _speaking(self, now: float) -> Trail | None:
        """The probe while it speaks, else whichever spoke last."""
        told = [trail for trail in (self._probe, self._spots) if not trail.is_empty()]
        if self._probe in told and not self._probe.is_stale(now):
            return self._probe
        return max(told, key=lambda trail: trail.heard_t, default=None)

    def _state(self, trail: Trail, celsius: float, now: float) -> FireState:
        if trail.is_stale(now):
            return FireState.STALE
        if max(self._probe.highest_c, self._spots.highest_c) < self.settings.floor_c:
            return FireState.HEATING
        if celsius < self.settings.floor_c:
            return FireState.LOW
        return FireState.HIGH if celsius > self.settings.ceiling_c else FireState.READY

    def _floor_in_s(
        self, celsius: float, level_t: float, slope: float | None, now: float
    ) -> float | None:
        """Along the line of this slope through the level, at the time that the level stands for."""
        if slope is None or slope * 60.0 > -FALLING_C_PER_MIN:
            return None
        crossing_t = level_t + (celsius - self.settings.floor_c) / -slope
        return round(max(0.0, crossing_t - now), 1)

    def _is_lid_dip(self, t: float) -> bool:
        if self._opened_t is not None:
            return t - self._opened_t < LID_LEFT_OPEN_S
        return t - self._closed_t < LID_RECOVERY_S

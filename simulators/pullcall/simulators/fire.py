"""A charcoal fire, as the temperature of its grate."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt
from random import Random


@dataclass(frozen=True, slots=True)
class FireSettings:
    """How the fire burns. Celsius, seconds.

    ``start_c`` heats up towards ``settled_c`` with time constant ``heat_up_s``; the settled
    temperature drifts by ``drift_c_per_min`` and wanders with standard deviation ``wander_c``
    and memory ``wander_s``. An open lid pulls the grate ``lid_dip_c`` down.
    """

    settled_c: float = 290.0
    start_c: float = 290.0
    heat_up_s: float = 240.0
    drift_c_per_min: float = -0.6
    wander_c: float = 6.0
    wander_s: float = 90.0
    lid_dip_c: float = 30.0
    lid_dip_s: float = 12.0
    lid_recovery_s: float = 45.0


class Fire:
    """The fire itself; all chance comes from ``rng``."""

    def __init__(self, settings: FireSettings, rng: Random) -> None:
        self._settings = settings
        self._rng = rng
        self._age_s = 0.0
        self._base_c = settings.start_c
        self._wander_c = 0.0
        self._dip_c = 0.0

    @property
    def grate_c(self) -> float:
        """The grate's temperature, Celsius."""
        return self._base_c + self._wander_c - self._dip_c

    def step(self, dt: float, lid_open: bool) -> None:
        """Advance by ``dt`` seconds. The wander is an exact Ornstein-Uhlenbeck step."""
        s = self._settings
        self._age_s += dt
        settled = s.settled_c + s.drift_c_per_min * self._age_s / 60.0
        self._base_c += (settled - self._base_c) * (1.0 - exp(-dt / s.heat_up_s))
        keep = exp(-dt / s.wander_s)
        spread = s.wander_c * sqrt(1.0 - keep * keep)
        self._wander_c = self._wander_c * keep + spread * self._rng.gauss(0.0, 1.0)
        towards, constant = (s.lid_dip_c, s.lid_dip_s) if lid_open else (0.0, s.lid_recovery_s)
        self._dip_c += (towards - self._dip_c) * (1.0 - exp(-dt / constant))

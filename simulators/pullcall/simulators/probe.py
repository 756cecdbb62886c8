"""Probes: one left in the meat, and one held in the hand for a spot reading."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from random import Random


@dataclass(frozen=True, slots=True)
class ProbeSettings:
    """A leave-in probe. Depth is below the face that is up when the steak goes on; None: centre.

    lag_s: first-order time constant; resolution_c: quantum of its figures; noise_c: standard
    deviation; interval_s and jitter_s: between readings. Each reading starts a gap of ``gap_s``
    with probability ``gap_chance`` and is off by up to ``spike_c`` with ``spike_chance``.
    """

    depth_mm: float | None = None
    lag_s: float = 3.0
    resolution_c: float = 0.1
    noise_c: float = 0.05
    offset_c: float = 0.0
    interval_s: float = 0.5
    jitter_s: float = 0.02
    gap_chance: float = 0.0
    gap_s: float = 6.0
    spike_chance: float = 0.0
    spike_c: float = 8.0
    battery_percent: int = 87


class Probe:
    """A leave-in probe; all chance comes from ``rng``."""

    def __init__(self, settings: ProbeSettings, start_c: float, rng: Random) -> None:
        self.settings = settings
        self.element_c = start_c
        self._rng = rng
        self._due = rng.uniform(0.0, settings.interval_s)

    def follow(self, begin: float, end: float, meat_c: float) -> list[tuple[float, float]]:
        """Follow meat at ``meat_c`` from ``begin`` to ``end``: return (time, Celsius) readings."""
        before, s = self.element_c, self.settings
        self.element_c += (meat_c - before) * (1.0 - exp(-(end - begin) / s.lag_s))
        readings = []
        while self._due <= end:
            share = max(0.0, (self._due - begin) / (end - begin))
            element = before + (self.element_c - before) * share
            readings.append((self._due, self._figure(element)))
            self._due += self._wait()
        return readings

    def _figure(self, element_c: float) -> float:
        """What the probe shows for its element's temperature."""
        s = self.settings
        shown = element_c + s.offset_c + self._rng.gauss(0.0, s.noise_c)
        if s.spike_chance and self._rng.random() < s.spike_chance:
            shown += self._rng.choice((-1.0, 1.0)) * self._rng.uniform(0.5, 1.0) * s.spike_c
        return quantised(shown, s.resolution_c)

    def _wait(self) -> float:
        s = self.settings
        wait = s.interval_s + self._rng.uniform(-s.jitter_s, s.jitter_s)
        if s.gap_chance and self._rng.random() < s.gap_chance:
            wait += s.gap_s
        return wait


@dataclass(frozen=True, slots=True)
class SpotReader:
    """A hand-held probe: it is held until it settles, but not quite at the centre.

    miss_mm: standard deviation of the depth it is pushed to; noise_c: of its figure.
    """

    miss_mm: float = 1.5
    noise_c: float = 0.3
    resolution_c: float = 0.1

    def depth_mm(self, thickness_mm: float, rng: Random) -> float:
        """Where it ends up in a steak of this thickness: never outside it."""
        missed = thickness_mm / 2.0 + rng.gauss(0.0, self.miss_mm)
        return min(max(missed, 1.0), thickness_mm - 1.0)

    def figure(self, meat_c: float, rng: Random) -> float:
        """What it shows for meat at this temperature."""
        return quantised(meat_c + rng.gauss(0.0, self.noise_c), self.resolution_c)


def quantised(celsius: float, resolution_c: float) -> float:
    """Round to a multiple of the resolution; 0 leaves it as it is."""
    if resolution_c == 0.0:
        return celsius
    return round(round(celsius / resolution_c) * resolution_c, 4)

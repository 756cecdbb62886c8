"""The rise that cooks think in: degrees per minute over the last readings, robustly fitted."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

import numpy as np

from pullcall.forecast.noise import ProbeNoise
from pullcall.forecast.rise_rate import fit_rise, forgetting_s

#: Readings kept, by number and by age in s: five of the usual forgetting times.
_READINGS, _READINGS_S = 512, 80.0
#: Readings before there is a rise: how many, over how long in s.
_FEWEST, _SHORTEST_S = 5, 10.0
#: No rise is told from readings older than this, s.
_STALE_S = 15.0


@dataclass(frozen=True, slots=True)
class Rise:
    """Rise in kelvin per minute over the last ``window_s`` seconds."""

    c_per_min: float
    window_s: float


class RiseWatch:
    """Keeps one probe's last readings in bounded memory, with its noise."""

    def __init__(self) -> None:
        self.noise = ProbeNoise()
        self._points: deque[tuple[float, float]] = deque(maxlen=_READINGS)
        self._latest_t = -math.inf  # outlives a restart, as what the noise remembers does

    def add(self, t: float, celsius: float) -> bool:
        """Keep a reading; False for one that is not later than the last or not finite."""
        if not math.isfinite(celsius) or t <= self._latest_t:
            return False
        self._latest_t = t
        self._points.append((t, celsius))
        while self._points[0][0] < t - _READINGS_S:
            self._points.popleft()
        self.noise.add(t, celsius)
        return True

    def restart(self) -> None:
        """The probe was moved: what it showed before says nothing of the rise here."""
        self._points.clear()

    def rise(self, now: float) -> Rise | None:
        """The rise at ``now``; None while it cannot be told."""
        points = np.array(self._points, dtype=float).reshape(-1, 2)
        if len(points) < _FEWEST or now - points[-1, 0] > _STALE_S:
            return None
        span = float(points[-1, 0] - points[0, 0])
        if span < _SHORTEST_S:
            return None
        sigma = self.noise.sigma_c
        forgetting = forgetting_s(sigma, span / (len(points) - 1))
        fit = fit_rise(points[:, 0], points[:, 1], sigma, forgetting)
        return Rise(round(fit.moved(now).rise * 60.0, 2), round(fit.span_s, 1))

"""The clock of a cook as it is known from afar."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CookClock:
    """It stood at ``t`` cook seconds when the own clock stood at ``at``; ``speed`` times life."""

    t: float
    at: float
    speed: float = 1.0

    def now(self, at: float) -> float:
        """Where it stands, cook seconds."""
        return self.t + max(0.0, at - self.at) * self.speed

    def age_s(self, t: float, at: float) -> float:
        """How long ago, in real seconds, it stood at ``t``."""
        return max(0.0, self.now(at) - t) / self.speed

"""From figures to places on a drawing, and which figures to write at an axis."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log10


@dataclass(frozen=True, slots=True)
class Scale:
    """``low`` .. ``high`` of a figure lie at ``start`` .. ``end`` of the drawing, in its units."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """The place of a figure."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def holds(self, value: float) -> bool:
        """Whether a figure lies on the scale."""
        return self.low <= value <= self.high

    def ticks(self, step: float) -> tuple[float, ...]:
        """Every multiple of ``step`` on the scale."""
        first, last = ceil(self.low / step - 1e-9), floor(self.high / step + 1e-9)
        return tuple(step * n for n in range(first, last + 1))


def round_step(length: float, most: int) -> float:
    """The least of 1, 2, 5 times a power of ten that cuts ``length`` into at most ``most``."""
    least = length / most
    power = 10.0 ** floor(log10(least))
    return next(power * n for n in (1.0, 2.0, 5.0, 10.0) if power * n >= least * (1.0 - 1e-9))


def minute_step(length_s: float, most: int) -> float:
    """A step of whole minutes, seconds, that cuts ``length_s`` into at most ``most``."""
    steps = (60.0, 120.0, 300.0, 600.0, 1_200.0, 1_800.0, 3_600.0, 7_200.0)
    return next((s for s in steps if length_s / s <= most), round_step(length_s, most))


def spread(places: list[float], least: float, low: float, high: float) -> list[float]:
    """The places moved apart to at least ``least`` between neighbours and kept in low..high.

    Their order stays. Where they do not fit at all, they lie evenly.
    """
    if (len(places) - 1) * least > high - low:
        least = (high - low) / (len(places) - 1)
    order = sorted(range(len(places)), key=lambda n: places[n])
    moved, floor_ = list(places), low
    for n in order:
        moved[n] = floor_ = max(places[n], floor_)
        floor_ += least
    ceiling = high
    for n in reversed(order):
        moved[n] = ceiling = min(moved[n], ceiling)
        ceiling -= least
    return moved

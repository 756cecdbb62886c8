"""What a packet says: a judged temperature, or a refusal with its reason."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

#: Celsius a probe at a grill can honestly report: from a freezer to a bed of coals. A value
#: outside is a broken sensor or a wrong layout (common practice, no source).
PLAUSIBLE_C = (-60.0, 800.0)


class Verdict(StrEnum):
    """How far a value can be used. All three prove that the link lives."""

    GOOD = "good"
    INVALID = "invalid"
    OUT_OF_RANGE = "out of range"


@dataclass(frozen=True, slots=True)
class Temperature:
    """One value of a packet; ``celsius`` is None where the sender marked it as no reading."""

    celsius: float | None
    verdict: Verdict

    @property
    def good(self) -> float | None:
        """The Celsius to use, or None."""
        return self.celsius if self.verdict is Verdict.GOOD else None


@dataclass(frozen=True, slots=True)
class Refusal:
    """A packet that cannot be read. ``reason`` is half a sentence for people."""

    reason: str


#: The sender says that it has no reading now (a probe unplugged, a sensor warming up).
NO_READING = Temperature(None, Verdict.INVALID)


def judge(celsius: float, low: float = PLAUSIBLE_C[0], high: float = PLAUSIBLE_C[1]) -> Temperature:
    """Judge a Celsius value against a closed range."""
    if not math.isfinite(celsius):
        return NO_READING
    inside = low <= celsius <= high
    return Temperature(celsius, Verdict.GOOD if inside else Verdict.OUT_OF_RANGE)


def hex_of(data: bytes) -> str:
    """Bytes as people write them: ``3a 15``."""
    return data.hex(" ")

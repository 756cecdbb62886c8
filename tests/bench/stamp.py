"""A moment hidden in a temperature: its low digits say when it was sent.

CLOCK_MONOTONIC is one for all processes of a machine, so whoever reads it knows how old it is.
"""

from __future__ import annotations

import math
import time

#: Moments are told to a tenth of a millisecond, and repeat after a hundred seconds.
_PER_S, _LAP = 10_000, 1_000_000
#: What a moment is worth, Celsius: all of them together less than what a reading shows.
_STEP_C = 1e-8


def stamped(celsius: float) -> float:
    """The same to a tenth of a degree, with this moment in it."""
    return round(celsius, 1) + (int(time.monotonic() * _PER_S) % _LAP) * _STEP_C


def age_s(celsius: float, now: float | None = None) -> float | None:
    """Seconds since it was stamped, at ``now`` (monotonic); None for what has no stamp."""
    tenth = math.floor(celsius * 10.0 + 1e-6)
    moment = round((celsius - tenth / 10.0) / _STEP_C)
    if not 0 < moment < _LAP:
        return None
    at = time.monotonic() if now is None else now
    return (at * _PER_S - moment) % _LAP / _PER_S

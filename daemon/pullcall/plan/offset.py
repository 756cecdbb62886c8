"""How much later the second steak should go on, so that two pulls do not collide."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from pullcall.events import Quantiles
from pullcall.plan.chance import SAMPLES, SEED, quantiles
from pullcall.plan.day import Day
from pullcall.plan.lengths import Seconds

#: To lift a steak, draw its probe, set it down and be back takes some 20 s, and the next pull's
#: last call needs to be heard: common practice, no source.
APART_S = 30.0
#: How often the pulls shall be that far apart.
APART_SHARE = 0.8
#: Offsets are told in such steps, up to the longest that a shared rest still allows.
STEP_S = 5.0
LONGEST_S = 240.0


@dataclass(frozen=True, slots=True)
class Offset:
    """The second steak ``offset_s`` after the first, seconds: then the pulls lie ``gap_s`` apart
    (second less first) and at least :data:`APART_S` with the chance ``apart``."""

    offset_s: float
    gap_s: Quantiles
    apart: float


def propose(gaps_s: Seconds, least_s: float = 0.0) -> Offset:
    """The least offset that keeps pulls apart with :data:`APART_SHARE`, for the gaps there would
    be with both put on at once (samples of second less first); zero if they are apart anyway.
    ``least_s`` is what has passed since the first went on.

    Where none is enough, the one that keeps them apart most often.
    """
    ordered = np.sort(gaps_s)
    offsets = STEP_S * np.ceil(max(0.0, least_s) / STEP_S) + np.arange(0.0, LONGEST_S, STEP_S)
    below = np.searchsorted(ordered, APART_S - offsets, side="left")
    above = np.searchsorted(ordered, -APART_S - offsets, side="right")
    apart = 1.0 - (below - above) / len(ordered)
    good = np.flatnonzero(apart >= APART_SHARE)
    best = int(good[0]) if len(good) else int(np.argmax(apart))
    offset_s = float(offsets[best])
    return Offset(offset_s, quantiles(gaps_s + offset_s), float(apart[best]))


def propose_for(day: Day) -> Offset | None:
    """Before any is on: from how long the two steaks take. None unless there are two."""
    if len(day.steaks) != 2:
        return None
    first, second = (day.takes(("cook", name)) for name in day.names())
    return _propose(first.low_s, first.high_s, second.low_s, second.high_s)


@lru_cache(maxsize=32)
def _propose(low_a: float, high_a: float, low_b: float, high_b: float) -> Offset:
    drawn = np.random.default_rng(SEED).random((2, SAMPLES))
    a = low_a + drawn[0] * (high_a - low_a)
    b = low_b + drawn[1] * (high_b - low_b)
    return propose(b - a)

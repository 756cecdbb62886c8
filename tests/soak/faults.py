"""The faults of a day, laid out from a seed before it begins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from random import Random


class Kind(StrEnum):
    """What breaks; each is mended again after a while."""

    PROBE_SILENT = "probe silent"
    PROBE_SPIKE = "probe spike"
    SOURCE_STOPS = "source stops by a mistake"
    CLOCK_STEP = "wall clock steps"
    DISK_FULL = "disk full"
    LOG_LOCKED = "log locked by another program"
    SPEAKER_GONE = "loudspeaker's folder gone"
    WEBHOOK_DOWN = "webhook answers 500"
    WEBHOOK_HANGS = "webhook never answers"
    BROKER_KILLED = "broker killed"
    BUS_KILLED = "process at the broker killed"
    BUS_STOPPED = "process at the broker stands still"
    CROWD = "pages come and go"
    DEAF_PAGES = "pages that never read"
    NONSENSE = "requests that make no sense"
    NOBODY_HEARS = "no phone hears"


#: Those that take readings away: calls of a steak may differ around them.
OF_DATA = frozenset({Kind.PROBE_SILENT, Kind.PROBE_SPIKE, Kind.SOURCE_STOPS})
#: One of these in each pause, drawn by chance; faults of data come a third as often as others.
_PAUSE_S = (4.0, 14.0)
_LASTS_S = (1.0, 8.0)
_WEIGHTS = {kind: 1.0 if kind in OF_DATA else 3.0 for kind in Kind}
#: Nothing breaks so soon after the start, nor so close to the end, seconds.
_QUIET_S = 10.0


@dataclass(frozen=True, slots=True)
class Fault:
    """``kind`` from ``at_s`` on for ``lasts_s``, real seconds since the start; ``chance`` in
    [0, 1) chooses what it strikes."""

    at_s: float
    lasts_s: float
    kind: Kind
    chance: float


def faults(seed: int, lasts_s: float) -> Iterator[Fault]:
    """The faults of a day of so many real seconds, in order; the same for the same seed."""
    rng = Random(f"soak/{seed}")
    kinds, weights = list(_WEIGHTS), list(_WEIGHTS.values())
    at = _QUIET_S
    while (at := at + rng.uniform(*_PAUSE_S)) < lasts_s - _QUIET_S:
        (kind,) = rng.choices(kinds, weights)
        yield Fault(at, rng.uniform(*_LASTS_S), kind, rng.random())

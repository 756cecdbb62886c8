"""A simulated cook beside what was really so: crossings, and the faults its probes had."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from statistics import median

from pullcall.events import MarkKind, Reading
from pullcall.log.cook_file import CookFile, read_cook_file

#: No reading for longer than this is a gap, seconds: what the least alarm waits.
GAP_S = 6.0
#: A reading this far from the median of three before and three after it is a spike, kelvin.
SPIKE_C = 1.5
#: The median of five readings this much below that of the five before is a slip, kelvin; it is
#: looked for only where the ten readings have no gap.
SLIP_C = 1.5


@dataclass(frozen=True, slots=True)
class SteakTruth:
    """``cross_s`` is when the probe, without noise, reaches the pull temperature, had the steak
    stayed on; ``off_s`` when it came off. Gaps, spikes and slips are times while it was on."""

    name: str
    on_s: float
    off_s: float
    cross_s: float
    gaps: tuple[tuple[float, float], ...]
    spikes: tuple[float, ...]
    slips: tuple[float, ...]

    @property
    def is_clean(self) -> bool:
        """Whether its probe spoke all the time and made sense."""
        return not (self.gaps or self.spikes or self.slips)


def cook_paths(folder: Path) -> list[Path]:
    """The cooks in a folder that have their truth beside them."""
    found = sorted(folder.glob("cook_*.jsonl"))
    return [path for path in found if _truth_path(path).exists()]


def read_cook(path: Path) -> tuple[CookFile, tuple[SteakTruth, ...]]:
    """A cook and the truth of those of its steaks that have one."""
    cook = read_cook_file(path)
    steaks = json.loads(_truth_path(path).read_text())["steaks"]
    return cook, tuple(_steak(cook, steak) for steak in steaks)


def _truth_path(path: Path) -> Path:
    return path.parent / "truth" / f"{path.stem}.json"


def _steak(cook: CookFile, truth: dict[str, float | str]) -> SteakTruth:
    name = str(truth["steak"])
    on_s, off_s = _marked(cook, name, MarkKind.ON), _marked(cook, name, MarkKind.OFF)
    heard = [
        event
        for event in cook.inputs
        if isinstance(event, Reading) and event.steak == name and on_s <= event.t <= off_s
    ]
    return SteakTruth(
        name, on_s, off_s, float(truth["cross_s"]), _gaps(heard), _spikes(heard), _slips(heard)
    )


def _marked(cook: CookFile, steak: str, kind: MarkKind) -> float:
    marks = (e for e in cook.inputs if getattr(e, "mark", None) is kind)
    return next(e.t for e in marks if getattr(e, "steak", None) in (None, steak))


def _gaps(heard: Sequence[Reading]) -> tuple[tuple[float, float], ...]:
    return tuple((a.t, b.t) for a, b in pairwise(heard) if b.t - a.t > GAP_S)


def _spikes(heard: Sequence[Reading]) -> tuple[float, ...]:
    values = [reading.celsius for reading in heard]
    return tuple(
        heard[k].t
        for k in range(3, len(values) - 3)
        if _has_no_gap(heard[k - 3 : k + 4])
        and abs(values[k] - median(values[k - 3 : k] + values[k + 1 : k + 4])) > SPIKE_C
    )


def _slips(heard: Sequence[Reading]) -> tuple[float, ...]:
    """The first moment of each slip; several readings in a row tell of the same one."""
    values = [reading.celsius for reading in heard]
    found: list[float] = []
    for k in range(5, len(values) - 4):
        fell = median(values[k - 5 : k]) - median(values[k : k + 5])
        is_new = not found or heard[k].t - found[-1] > GAP_S
        if fell > SLIP_C and is_new and _has_no_gap(heard[k - 5 : k + 5]):
            found.append(heard[k].t)
    return tuple(found)


def _has_no_gap(heard: Sequence[Reading]) -> bool:
    return all(b.t - a.t <= GAP_S for a, b in pairwise(heard))

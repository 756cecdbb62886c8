"""What a process costs over a day: memory, files, tasks, and how they grow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from statistics import median

from tests.bench.process_cost import children, resident_mb


@dataclass(frozen=True, slots=True)
class Sample:
    """``at_h`` hours of the day; megabytes of the daemon and of its children; open files."""

    at_h: float
    mb: float
    children_mb: float
    files: int
    tasks: int


def sample(pid: int, at_h: float, tasks: int) -> Sample:
    """Look at a process. Raises OSError once it is gone."""
    files = len(list(Path(f"/proc/{pid}/fd").iterdir()))
    return Sample(at_h, resident_mb(pid), sum(map(_mb, children(pid))), files, tasks)


def slope(points: Sequence[tuple[float, float]]) -> float:
    """By how much the second grows with the first: the median over all pairs (Theil-Sen)."""
    slopes = [(y - x) / (b - a) for (a, x), (b, y) in combinations(points, 2) if b > a]
    return median(slopes) if slopes else 0.0


def _mb(pid: int) -> float:
    try:
        return resident_mb(pid)
    except OSError:
        return 0.0  # gone meanwhile

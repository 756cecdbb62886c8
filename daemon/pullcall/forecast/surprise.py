"""Tells a spike from a probe that was moved: one is left out, the other believed."""

from __future__ import annotations

from dataclasses import dataclass

#: A reading this many standard deviations off, plus this much in C, is out of line.
_OUT_SD, _OUT_C = 4.0, 0.3
#: So many in a row on the same side are no spikes: the probe sits elsewhere.
_IN_A_ROW = 4


@dataclass(frozen=True, slots=True)
class Verdict:
    """What to make of one reading."""

    is_outlier: bool
    has_moved: bool


class Surprise:
    """Counts readings out of line; knows when the probe last moved and by how much, C."""

    def __init__(self) -> None:
        self.moved_t: float | None = None
        self.moved_by_c = 0.0
        self._side = 0
        self._row = 0

    @property
    def is_doubtful(self) -> bool:
        """Whether the latest readings are out of line and not judged yet."""
        return self._row > 0

    def see(self, t: float, off_c: float, sd_c: float) -> Verdict:
        """Judge a reading ``off_c`` from what was expected give or take ``sd_c``."""
        if abs(off_c) <= _OUT_SD * sd_c + _OUT_C:
            self._row = 0
            return Verdict(is_outlier=False, has_moved=False)
        side = 1 if off_c > 0 else -1
        self._row = self._row + 1 if side == self._side else 1
        self._side = side
        if self._row < _IN_A_ROW:
            return Verdict(is_outlier=True, has_moved=False)
        self._row, self.moved_t, self.moved_by_c = 0, t, off_c
        return Verdict(is_outlier=False, has_moved=True)

"""The noise and the quantisation step of one probe, estimated from its own readings."""

from __future__ import annotations

from collections import deque
from itertools import pairwise

import numpy as np

#: Readings the estimate remembers, and how few are too few for one.
REMEMBERED = 64
FEWEST = 8

#: Standard deviation taken before there are enough readings, C: a plain 0.1 C probe's jitter.
USUAL_SIGMA_C = 0.2
#: No probe is believed better than this, C: the model of the core is not better either.
LEAST_SIGMA_C = 0.05

#: Two steps within this are the same step, C: 5/9 C arrives as 0.55, 0.555 or 0.56.
SAME_STEP_C = 0.006
#: Normal standard deviations per median absolute deviation.
SIGMA_PER_MAD = 1.4826


class ProbeNoise:
    """Running noise estimate; memory and cost per reading are constant."""

    def __init__(self) -> None:
        self._last: deque[tuple[float, float]] = deque(maxlen=3)
        self._bends: deque[float] = deque(maxlen=REMEMBERED)
        self._steps: deque[float] = deque(maxlen=REMEMBERED)

    def add(self, t: float, celsius: float) -> None:
        """Take the next reading: ``t`` seconds, strictly after the one before."""
        if self._last and celsius != self._last[-1][1]:
            self._steps.append(abs(celsius - self._last[-1][1]))
        self._last.append((t, celsius))
        if len(self._last) == 3:
            self._bends.append(_bend(*self._last))

    @property
    def quantum_c(self) -> float:
        """Smallest repeated step between neighbouring readings, C; 0 while none repeats."""
        for small, next_up in pairwise(sorted(self._steps)):
            if next_up - small <= SAME_STEP_C:
                return (small + next_up) / 2
        return 0.0

    @property
    def sigma_c(self) -> float:
        """Standard deviation of one reading, C, quantisation included.

        From second differences, which a steady rise does not touch; spikes are cut at five
        robust deviations. A uniform rounding error has sd quantum / sqrt(12).
        """
        if len(self._bends) < FEWEST:
            return USUAL_SIGMA_C
        floor = max(LEAST_SIGMA_C, self.quantum_c / np.sqrt(12.0))
        bends = np.abs(np.array(self._bends))
        cut = 5.0 * max(SIGMA_PER_MAD * float(np.median(bends)), floor)
        kept = bends[bends <= cut]
        return max(float(np.sqrt(np.mean(kept**2))), float(floor))


def _bend(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    """Deviation of ``b`` from the line through ``a`` and ``c``, scaled to one reading's sd."""
    share = (b[0] - a[0]) / (c[0] - a[0])
    off = b[1] - (1.0 - share) * a[1] - share * c[1]
    return off / float(np.sqrt(1.0 + share**2 + (1.0 - share) ** 2))

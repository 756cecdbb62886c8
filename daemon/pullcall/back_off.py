"""How long to wait before trying again."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

#: Doubled from one second up to half a minute, seconds.
_STEPS_S = (1.0, 2.0, 4.0, 8.0, 16.0, 30.0)


class BackOff:
    """Endless capped waits: the steps in turn, seconds, the last one for ever; each is longer or
    shorter by up to a share of ``jitter``, by chance."""

    def __init__(
        self,
        steps: Sequence[float] | None = None,
        jitter: float = 0.0,
        random: Random | None = None,
    ) -> None:
        self._steps = steps or _STEPS_S
        self._jitter = jitter
        self._random = random or Random()
        self._tries = 0

    def next(self) -> float:
        """Seconds to wait before the next try."""
        step = self._steps[min(self._tries, len(self._steps) - 1)]
        self._tries += 1
        return step * (1.0 + self._jitter * self._random.uniform(-1.0, 1.0))

    def reset(self) -> None:
        """Start again with the shortest wait: it worked."""
        self._tries = 0

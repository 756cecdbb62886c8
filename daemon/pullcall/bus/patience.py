"""How long to wait before the broker is tried again."""

from __future__ import annotations

import random

_FIRST_S, _LONGEST_S = 0.5, 10.0
#: A connection that lasted this long was one, seconds.
_LASTED_S = 10.0


class Patience:
    """Waits between half a second and ten, longer each time and by chance, for ever.

    By chance, so that the sites of a broker that comes back do not come all at once.
    """

    def __init__(self) -> None:
        self._most_s = 2 * _FIRST_S

    def next(self, lasted_s: float = 0.0) -> float:
        """Seconds to wait after a try that lasted so long."""
        if lasted_s >= _LASTED_S:
            self._most_s = 2 * _FIRST_S
        wait_s = random.uniform(_FIRST_S, self._most_s)
        self._most_s = min(2 * self._most_s, _LONGEST_S)
        return wait_s

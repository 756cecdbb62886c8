"""How long to wait before something that failed is tried again."""

from __future__ import annotations

import random


class Patience:
    """Waits that grow and are left to chance, for ever; those of the broker by default.

    By chance, so that the sites of a broker that comes back do not come all at once (what nobody
    else waits for has the steps of :class:`pullcall.back_off.BackOff`, which can be foretold). What
    went well for ``lasted_s`` begins again with the shortest wait.
    """

    def __init__(
        self, first_s: float = 0.5, longest_s: float = 10.0, lasted_s: float = 10.0
    ) -> None:
        self._first_s = first_s
        self._longest_s = longest_s
        self._lasted_s = lasted_s
        self._most_s = 2 * first_s

    def next(self, lasted_s: float = 0.0) -> float:
        """Seconds to wait after a try that lasted so long."""
        if lasted_s >= self._lasted_s:
            self._most_s = 2 * self._first_s
        wait_s = random.uniform(self._first_s, self._most_s)
        self._most_s = min(2 * self._most_s, self._longest_s)
        return wait_s

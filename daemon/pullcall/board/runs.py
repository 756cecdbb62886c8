"""Which run of a site is listened to: two of one id may speak, and a late word is no news."""

from __future__ import annotations

import math
from collections import deque

#: Runs of a site that are remembered as over.
_KEPT = 8
#: A run that is over counts again once it went on for so long, while the one after it was quiet
#: for so long, seconds: a word that was only late comes alone.
_GOES_ON_S, _QUIET_S = 1.0, 4.0


class Runs:
    """The run that spoke first last counts, and those before it are over: each has its epoch.

    One that is over counts again where it connects anew, or goes on while the other is quiet: a
    spare machine of the same id may have come and gone. Times are the board's own seconds.
    """

    def __init__(self) -> None:
        self._current = ""
        self._current_t = -math.inf
        self._over: deque[str] = deque(maxlen=_KEPT)
        self._again = ("", -math.inf)

    def is_over(self, epoch: str) -> bool:
        """Whether a run is not listened to."""
        return epoch in self._over

    def is_back(self, epoch: str, now: float, is_greeting: bool) -> bool:
        """Whether a run that is over counts again, for it spoke at ``now``."""
        again, since = self._again
        if again != epoch or since <= self._current_t:
            self._again = again, since = epoch, now
        is_quiet = now - self._current_t >= _QUIET_S
        return is_greeting or (is_quiet and now - since >= _GOES_ON_S)

    def hear(self, epoch: str, now: float) -> bool:
        """A run spoke and is listened to; whether it is another than before."""
        before, self._current, self._current_t = self._current, epoch, now
        if before in ("", epoch):
            return False
        if epoch in self._over:
            self._over.remove(epoch)
        self._over.append(before)
        return True

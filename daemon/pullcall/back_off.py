"""How long to wait before trying again."""

from __future__ import annotations

_FIRST_S = 1.0
_LONGEST_S = 30.0


class BackOff:
    """Waits that double from one second up to half a minute, for ever."""

    def __init__(self) -> None:
        self._next_s = _FIRST_S

    def next(self) -> float:
        """Seconds to wait before the next try."""
        wait = self._next_s
        self._next_s = min(2.0 * wait, _LONGEST_S)
        return wait

    def reset(self) -> None:
        """Start again with the shortest wait: it worked."""
        self._next_s = _FIRST_S

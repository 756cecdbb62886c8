"""How much a site may say."""

from __future__ import annotations

#: Messages a second, and at once after a connect: a site says some ten a second, and all of its
#: state when it connects; one whose clock is sped up says many more.
_RATE, _MOST = 100.0, 500.0
#: What is long takes long to read: each so many bytes count as one more message.
_BYTES = 4096


class Allowance:
    """A token bucket; times are the board's own seconds."""

    def __init__(self, now: float) -> None:
        self._left = _MOST
        self._at = now

    def is_full(self, now: float) -> bool:
        """Whether nothing was said for a while."""
        return self._left_at(now) >= _MOST

    def allows(self, size: int, now: float) -> bool:
        """Whether a message of so many bytes may be taken now."""
        return self._left_at(now) >= _cost(size)

    def take(self, size: int, now: float) -> None:
        """It is taken."""
        self._left = self._left_at(now) - _cost(size)
        self._at = now

    def _left_at(self, now: float) -> float:
        return min(_MOST, self._left + max(0.0, now - self._at) * _RATE)


def _cost(size: int) -> float:
    return min(_MOST, 1.0 + size // _BYTES)

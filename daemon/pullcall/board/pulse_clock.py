"""A cook's clock as a board tells it, from the pulses of its site."""

from __future__ import annotations

from collections import deque

#: Pulses of which the least delayed counts: a network delays, but is never early. Two minutes of
#: them, so that a board which falls behind for a while still knows how late it is.
_KEPT = 120
#: The clock is set anew only by more than this, seconds: one that trembles moves every due time.
_STEADY_S = 0.05
#: Cook seconds that a clock may go back without being another cook's.
_BACK_S = 1.0


class PulseClock:
    """Tells cook seconds from the board's own, ``at``.

    It runs on at the cook's speed while the site is silent, lost or gone: the meat does not wait
    for the network, and a countdown that stood still would promise time that has passed. That
    nothing is heard is told beside it. Only the clock of a replay stands, for its cook is over.
    """

    def __init__(self) -> None:
        self.speed = 1.0
        self._stands_at: float | None = None
        self.late_s = 0.0  # by how much the last pulse came later than the least delayed
        self._zero: float | None = None  # the board's seconds at the cook's zero
        self._zeros: deque[float] = deque(maxlen=_KEPT)
        self._t = 0.0

    def pulse(self, t: float, at: float, speed: float, stands: bool = False) -> None:
        """Take a pulse just heard; ``stands``: it is a replay's."""
        if speed != self.speed or t < self._t - _BACK_S:
            self._zeros.clear()
        zero = at - t / speed
        self._zeros.append(zero)
        self.late_s = 0.0 if stands else zero - min(self._zeros)
        self._set(t, min(self._zeros), speed, stands)

    def guess(self, t: float, at: float, speed: float, stands: bool = False) -> None:
        """Take a pulse that the broker kept, of about ``at``: it counts until one is heard."""
        self.begin_anew()
        self._set(t, at - t / speed, speed, stands)

    def begin_anew(self) -> None:
        """What comes is of another run of the site: its clock need not go on from before."""
        self._zeros.clear()

    def now(self, at: float) -> float:
        """Cook seconds; 0 before the first pulse."""
        if self._stands_at is not None or self._zero is None:
            return self._stands_at or 0.0
        return (at - self._zero) * self.speed

    def at(self, t: float) -> float | None:
        """The board's seconds at ``t`` cook seconds; None before the first pulse."""
        return None if self._zero is None else self._zero + t / self.speed

    def _set(self, t: float, zero: float, speed: float, stands: bool) -> None:
        is_steady = self._zero is not None and abs(zero - self._zero) <= _STEADY_S
        if not is_steady or speed != self.speed:
            self._zero = zero
        self._t, self.speed = t, speed
        self._stands_at = t if stands else None

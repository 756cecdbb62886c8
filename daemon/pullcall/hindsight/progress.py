"""How far a cook has been worked out, for whoever waits."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from pullcall.clock import Clock
from pullcall.core.cook import Cook, Effect
from pullcall.events import Input
from pullcall.log.cook_file import CookFile

#: Told no more often than this, s.
_EVERY_S = 0.5


class Progress:
    """Follows a study and tells its percent, each at most once and not too often."""

    def __init__(self, recorded: CookFile, clock: Clock, tell: Callable[[int], None]) -> None:
        times = [event.t for event in recorded.inputs]
        self._begins_t, self._ends_t = min(times, default=0.0), max(times, default=0.0)
        self._clock, self._tell = clock, tell
        self._percent, self._told_at = 0, clock.monotonic()

    def __call__(
        self, event: Input | None, effects: Sequence[Effect], t: float, cook: Cook
    ) -> None:
        """Take one step of the pass."""
        span_s = max(self._ends_t - self._begins_t, 1e-3)
        percent = min(99, int(100.0 * (t - self._begins_t) / span_s))
        if percent <= self._percent:
            return
        now = self._clock.monotonic()
        if now - self._told_at >= _EVERY_S:
            self._percent, self._told_at = percent, now
            self._tell(percent)

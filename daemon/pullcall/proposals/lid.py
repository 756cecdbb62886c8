"""The lid, from a probe at the grate: it dips when the lid opens and comes back when it shuts."""

from __future__ import annotations

from pullcall.proposals.found import Found
from pullcall.proposals.rules import LID_EDGE, LID_FALL_C, LID_FALL_S, LID_RECOVERED
from pullcall.proposals.trace import Trace


class LidWatch:
    """Follows the grate's probe. Times are cook seconds."""

    def __init__(self) -> None:
        self.trace = Trace()
        self._before = self._lowest = 0.0
        self._lowest_t = 0.0
        self._is_down = False

    def read(self, t: float, celsius: float) -> tuple[Found | None, Found | None]:
        """Take a reading: whether the lid was seen opening, and whether closing."""
        if not self.trace.add(t, celsius):
            return None, None
        return (None, self._recovery()) if self._is_down else (self._dip(), None)

    def _dip(self) -> Found | None:
        now, celsius = self.trace.points[-1]
        recent = self.trace.between(now - LID_FALL_S - 1e-6, now)
        top = max(level for _, level in recent)
        if top - celsius <= LID_FALL_C:
            return None
        # The fall began at the last point that was still near the top: a fire wanders before.
        near = top - LID_EDGE * (top - celsius)
        top_t = max(t for t, level in recent if level >= near)
        self._is_down, self._before = True, top
        self._lowest_t, self._lowest = now, celsius
        return Found(round(top_t, 1), "the grate's reading fell fast")

    def _recovery(self) -> Found | None:
        now, celsius = self.trace.points[-1]
        if celsius <= self._lowest:
            self._lowest_t, self._lowest = now, celsius
            return None
        if celsius - self._lowest < LID_RECOVERED * (self._before - self._lowest):
            return None
        self._is_down = False
        return Found(round(self._lowest_t, 1), "the grate's reading came back")

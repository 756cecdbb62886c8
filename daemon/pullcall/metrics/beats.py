"""Whether a loop goes round, and for how long it stood still."""

from __future__ import annotations

#: Gaps are remembered for one to two such spans, seconds: longer than anybody scrapes apart.
SPAN_S = 150.0


class Beats:
    """Every ``now`` is real monotonic seconds; ``began`` is when the loop was made."""

    def __init__(self, began: float) -> None:
        self.count = 0
        self._last = self._span_began = began
        self._longest = self._longest_before = 0.0

    def passed(self, now: float) -> None:
        """The loop went round once."""
        if now - self._span_began >= SPAN_S:
            self._longest_before, self._longest, self._span_began = self._longest, 0.0, now
        if self.count:  # before the first there is no gap, only a start
            self._longest = max(self._longest, now - self._last)
        self._last = now
        self.count += 1

    def age_s(self, now: float) -> float:
        """Since it last went round, or since it was made."""
        return now - self._last

    def longest_gap_s(self, now: float) -> float:
        """The longest it stood still lately, the gap under way included."""
        return max(self._longest, self._longest_before, self.age_s(now))

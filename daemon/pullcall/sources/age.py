"""How old the data of a link may be."""

from __future__ import annotations

from collections import deque
from enum import Enum, auto
from statistics import median

from pullcall.sources.timings import Timings

#: Gaps between values from which the interval is taken: enough to outvote a few lost values.
_GAPS = 16
#: A probe slower than this, in seconds, is treated as if it were this fast.
_LONGEST_INTERVAL_S = 20.0
#: Patience with a probe that connects but sends nothing doubles up to this many seconds.
_LONGEST_PATIENCE_S = 60.0


class Age(Enum):
    """What the age of a link's data asks for."""

    FRESH = auto()
    STALE = auto()
    RECONNECT = auto()


class DataAge:
    """Watches the age of one link's data, which is the only proof that a link lives.

    A link layer can stay up over a probe that has stopped. Every ``now`` is monotonic seconds.
    """

    def __init__(self, timings: Timings) -> None:
        self._timings = timings
        self._gaps: deque[float] = deque(maxlen=_GAPS)
        self._since = 0.0
        self._last: dict[int, float] = {}
        self._silent_links = 0

    def linked(self, now: float) -> None:
        """A link came up; nothing has been heard on it yet."""
        self._since = now
        self._last.clear()

    def heard(self, now: float, channel: int = 1) -> None:
        """Data arrived on a channel, whatever its verdict."""
        if channel in self._last:
            self._gaps.append(now - self._last[channel])
        self._since = self._last[channel] = now
        self._silent_links = 0

    def gave_up(self) -> None:
        """The link is being dropped for its silence."""
        if not self._last:
            self._silent_links += 1

    @property
    def stale_after_s(self) -> float:
        """The age from which data is shown as stale."""
        interval = min(median(self._gaps), _LONGEST_INTERVAL_S) if self._gaps else 0.0
        return max(self._timings.stale_intervals * interval, self._timings.stale_s)

    @property
    def reconnect_after_s(self) -> float:
        """The age from which the link is dropped. A slow probe is given longer, as is one that
        connects and has not yet sent anything: it may only send when it has measured."""
        limit = max(self._timings.reconnect_s, self.stale_after_s)
        if self._last:
            return limit
        return max(limit, min(limit * 2.0**self._silent_links, _LONGEST_PATIENCE_S))

    def judge(self, now: float) -> Age:
        """What to do about the link now."""
        age = now - self._since
        if age >= self.reconnect_after_s:
            return Age.RECONNECT
        return Age.STALE if age >= self.stale_after_s else Age.FRESH

"""How long to wait before trying again, and how old data may be."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from enum import Enum, auto
from random import Random
from statistics import median

from pullcall.sources.bluetooth.options import Timings

#: Gaps between values from which the interval is taken: enough to outvote a few lost values.
_GAPS = 16
#: A probe slower than this, in seconds, is treated as if it were this fast.
_LONGEST_INTERVAL_S = 20.0
#: Patience with a probe that connects but sends nothing doubles up to this many seconds.
_LONGEST_PATIENCE_S = 60.0


class BackOff:
    """Endless capped waits: the steps in turn, the last one for ever, each with jitter."""

    def __init__(self, steps: Sequence[float], jitter: float, random: Random) -> None:
        self._steps = steps
        self._jitter = jitter
        self._random = random
        self._tries = 0

    def next(self) -> float:
        """Seconds to wait before the next try."""
        step = self._steps[min(self._tries, len(self._steps) - 1)]
        self._tries += 1
        return step * (1.0 + self._jitter * self._random.uniform(-1.0, 1.0))

    def reset(self) -> None:
        """Start again with the shortest wait: it worked."""
        self._tries = 0


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


class Freshness:
    """Tells a new advert from an old one shown again.

    BlueZ repeats the last service data with every change of any property, so a callback alone
    proves nothing: the bytes must differ, and the packet id, where one is sent.
    """

    def __init__(self) -> None:
        self._bytes: bytes | None = None
        self._packet_id: int | None = None

    def has_changed(self, data: bytes) -> bool:
        """Whether ``data`` differs from the last, which it replaces."""
        changed = data != self._bytes
        self._bytes = data
        return changed

    def is_new_packet(self, packet_id: int | None) -> bool:
        """Whether a changed advert is a new measurement."""
        if packet_id is None:
            return True
        new = packet_id != self._packet_id
        self._packet_id = packet_id
        return new


class ScanVerdict(Enum):
    """What the silence of a scan asks for."""

    GOES_ON = auto()
    START_ANEW = auto()


class ScanWatch:
    """Watches that a scan hears something, for an adapter can stop scanning and say nothing."""

    def __init__(self, timings: Timings) -> None:
        self._timings = timings
        self._since = 0.0
        self._starts = 0

    @property
    def is_stuck(self) -> bool:
        """Whether fresh starts have not helped."""
        return self._starts >= self._timings.quiet_scans

    def heard(self, now: float) -> None:
        """An advert came, from any device at all."""
        self._since = now
        self._starts = 0

    def started(self, now: float) -> None:
        """A scan began."""
        self._since = now

    def judge(self, now: float, is_wanted: bool) -> ScanVerdict:
        """Decide; ``is_wanted`` is False while every known probe streams over a link, when
        silence on the air is no trouble (connected probes do not advertise)."""
        if not is_wanted:
            self.heard(now)
        if now - self._since < self._timings.quiet_scan_s:
            return ScanVerdict.GOES_ON
        self._starts += 1
        return ScanVerdict.START_ANEW

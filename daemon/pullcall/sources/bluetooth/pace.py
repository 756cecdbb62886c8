"""Whether what is heard is new, and whether a scan hears anything."""

from __future__ import annotations

from enum import Enum, auto

from pullcall.sources.timings import Timings

#: Packet ids count to here and begin again.
_IDS = 256
#: A packet whose id is at most so far ahead is the next one heard: so many may be missed.
_MISSED = 32
#: A count that is not ours is believed once so many packets have followed each other in it, ...
_RUN = 3
#: ... each at most so far ahead of the last.
_STEP = 8


class Freshness:
    """Tells a new advert from an old one shown again.

    BlueZ repeats the last service data with every change of any property, so a callback alone
    proves nothing: the bytes must differ, and the packet id, where one is sent, must go on. An id
    that goes back is an old packet sent again, or a probe that counts anew after a change of its
    battery: only the latter goes on counting.
    """

    def __init__(self) -> None:
        self._bytes: bytes | None = None
        self._packet_id: int | None = None
        self._other: int | None = None
        self._run = 0

    def has_changed(self, data: bytes) -> bool:
        """Whether ``data`` differs from the last, which it replaces."""
        changed = data != self._bytes
        self._bytes = data
        return changed

    def is_new_packet(self, packet_id: int | None) -> bool:
        """Whether a changed advert is a new measurement."""
        if packet_id is None:
            return True
        last = self._packet_id
        if last is None or _is_ahead(packet_id, last, _MISSED) or self._counts_anew(packet_id):
            self._packet_id, self._other, self._run = packet_id, None, 0
            return True
        return False

    def _counts_anew(self, packet_id: int) -> bool:
        if packet_id in (self._packet_id, self._other):
            return False
        goes_on = self._other is not None and _is_ahead(packet_id, self._other, _STEP)
        self._run = self._run + 1 if goes_on else 1
        self._other = packet_id
        return self._run >= _RUN


def _is_ahead(packet_id: int, last: int, at_most: int) -> bool:
    return 0 < (packet_id - last) % _IDS <= at_most


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

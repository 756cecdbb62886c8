"""Sees everything that the collector delivers and shows, and notes what must never be."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from statistics import median

from pullcall.clock import RealClock
from pullcall.sources.bluetooth import BluetoothSource, Timings
from pullcall.sources.sink import ChannelReading, LinkState, ProbeStatus
from tests.sources.bluetooth.faults.air import ADVERT, CHANNELS, Air, measured

#: Gaps between values that tell a channel's interval.
_GAPS = 16
_SHOWN = (LinkState.STREAMING, LinkState.STALE)
_LATE = (LinkState.STALE, LinkState.LOST)


@dataclass
class Heard:
    """What one channel delivered."""

    celsius: float
    delivered_at: float
    times: deque[float] = field(default_factory=lambda: deque(maxlen=_GAPS + 1))

    @property
    def at(self) -> float:
        """When the latest value came."""
        return self.times[-1]

    @property
    def interval_s(self) -> float:
        """The usual time between two values."""
        gaps = [later - earlier for earlier, later in pairwise(self.times)]
        return median(gaps) if gaps else 0.0


class Witness:
    """A sink that believes nothing. ``wrongs`` are the promises broken so far."""

    def __init__(self, air: Air, timings: Timings) -> None:
        self.wrongs: list[str] = []
        self.heard: dict[str, Heard] = {}
        self._air = air
        self._timings = timings
        self._numbers: dict[tuple[str, str], int] = {}
        self._clock = RealClock()
        self._probes: Callable[[], tuple[ProbeStatus, ...]] = tuple

    def follow(self, source: BluetoothSource) -> None:
        """Hold what is shown against what was delivered."""
        self._probes = source.probes

    def reading(self, reading: ChannelReading) -> None:
        """Take one value: the probe must have sent it, after everything it sent before."""
        now = self._clock.monotonic()
        heard = self.heard.setdefault(reading.channel, Heard(0.0, 0.0))
        if heard.times and not heard.at <= reading.at <= now:
            self._wrong(f"{reading} is stamped before the last one or in the future")
        heard.celsius, heard.delivered_at = reading.celsius, now
        heard.times.append(reading.at)
        if reading.channel in CHANNELS:
            self._check_value(reading)
        shown = next((p for p in self._probes() if p.channel == reading.channel), None)
        if shown is None or shown.state is not LinkState.STREAMING:
            self._wrong(f"{shown} is shown at a fresh value")

    def look(self) -> None:
        """Check all that is shown now."""
        before = self._clock.monotonic()
        shown = self._probes()
        after = self._clock.monotonic()
        for status in shown:
            self._check_status(status, before, after)

    def _check_value(self, reading: ChannelReading) -> None:
        found = measured(reading.celsius)
        if found is None or not reading.channel.startswith(found.address):
            self._wrong(f"{reading} was never measured by that probe")
            return
        last = self._numbers.get((found.address, found.channel), -1)
        # Two characteristics of one thermometer, and a second telling, carry the same measurement
        # over a link. An advert tells each measurement once.
        is_later = found.number > last if found.address == ADVERT else found.number >= last
        if not is_later:
            self._wrong(f"{reading} is measurement {found.number}, and {last} had come already")
        if found.number > self._air.latest(found):
            self._wrong(f"{reading} has not been measured yet")
        self._numbers[found.address, found.channel] = found.number

    def _check_status(self, status: ProbeStatus, before: float, after: float) -> None:
        heard = self.heard.get(status.channel)
        if heard is None:
            if status.celsius is not None or status.age_s is not None:
                self._wrong(f"{status} shows a value, and none was delivered")
            return
        # It was taken between its stamp and its delivery.
        age_s = after - heard.at
        if status.age_s is None or not before - heard.delivered_at <= status.age_s <= age_s:
            self._wrong(f"{status}: the true age is {age_s:.3f} s")
            return
        self._check_state(status, status.age_s, heard)

    def _check_state(self, status: ProbeStatus, age_s: float, heard: Heard) -> None:
        timings = self._timings
        stale_s = max(timings.stale_s, timings.stale_intervals * heard.interval_s)
        lost_s = max(timings.lost_s, stale_s)
        shows = status.celsius is not None
        if shows and (status.state not in _SHOWN or status.celsius != heard.celsius):
            self._wrong(f"{status}: the last value was {heard.celsius}")
        if shows and status.state is LinkState.STREAMING and age_s >= stale_s:
            self._wrong(f"{status} is old, and shown as live (stale from {stale_s:.3f} s on)")
        if status.state is LinkState.LOST and age_s < lost_s:
            self._wrong(f"{status}: lost is from {lost_s:.3f} s on")
        # A packet that holds no temperature proves the link: then it is shown without one.
        if status.state is not LinkState.LOST and age_s >= lost_s and (shows or not status.note):
            self._wrong(f"{status} is lost (from {lost_s:.3f} s on), and shown as if it were not")
        if not status.note and (status.state in _LATE or (status.state in _SHOWN and not shows)):
            self._wrong(f"{status} does not say why")

    def _wrong(self, words: str) -> None:
        if len(self.wrongs) < 3:
            self.wrongs.append(words)

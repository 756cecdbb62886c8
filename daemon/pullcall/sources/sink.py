"""What a source of readings tells the daemon, and how it looks to people."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol, runtime_checkable


class LinkState(StrEnum):
    """The state of one probe's link, as people see it."""

    SEARCHING = "searching"
    CONNECTING = "connecting"
    STREAMING = "streaming"
    STALE = "stale"
    LOST = "lost"


class AdapterState(StrEnum):
    """The state of the machine's Bluetooth adapter, as people see it."""

    OK = "ok"
    OFF = "off"
    MISSING = "missing"
    RESTARTED = "restarted"
    STUCK = "stuck"


@dataclass(frozen=True, slots=True)
class ChannelReading:
    """One value from one channel. ``at`` is monotonic seconds at callback entry."""

    channel: str
    celsius: float
    at: float


@dataclass(frozen=True, slots=True)
class ProbeStatus:
    """One channel of one probe. ``channel`` is stable: the device's address, ``/``, a number.

    ``age_s`` is seconds since the last good value (None: none yet); ``attempts`` counts the
    connects tried since it last streamed; ``refused`` counts packets that could not be read.
    """

    channel: str
    device: str
    name: str
    standard: str
    state: LinkState
    celsius: float | None = None
    battery_percent: int | None = None
    rssi_dbm: int | None = None
    age_s: float | None = None
    attempts: int = 0
    refused: int = 0
    note: str = ""


@dataclass(frozen=True, slots=True)
class AdapterStatus:
    """The adapter, with one sentence that says what to do where it is not ok."""

    name: str
    state: AdapterState
    note: str = ""


@dataclass(frozen=True, slots=True)
class LinkCounts:
    """What became of one device's link since the daemon began: connects tried, and how often it
    stood again after it had been lost."""

    device: str
    connects: int
    reconnects: int


@dataclass(frozen=True, slots=True)
class Way:
    """One way that readings come by: the channels heard by it so far, and why nothing can come by
    it now, as half a sentence ("Bluetooth is off"); empty where nothing keeps it."""

    channels: frozenset[str]
    trouble: str = ""


class Sink(Protocol):
    """Where a source delivers. Calls return at once and never raise."""

    def reading(self, reading: ChannelReading) -> None:
        """Take one value."""


class Source(Protocol):
    """Anything that delivers readings until cancelled."""

    async def run(self, sink: Sink) -> None:
        """Deliver readings to ``sink`` until cancelled; recover by itself from trouble."""

    def probes(self) -> tuple[ProbeStatus, ...]:
        """Every channel heard so far, in a stable order, as of now."""

    def adapter(self) -> AdapterStatus | None:
        """The adapter's state, or None where there is none."""


@runtime_checkable
class Counted(Protocol):
    """A source whose probes are connected to, and which counts that."""

    def links(self) -> tuple[LinkCounts, ...]:
        """Every device that is connected to, in a stable order."""


@runtime_checkable
class Relayed(Protocol):
    """A source that hears its probes through something else that may be gone."""

    def cut_off(self) -> str:
        """Why nothing can come now, as half a sentence; empty where nothing keeps it."""

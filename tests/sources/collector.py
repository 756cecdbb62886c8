"""A collector at work, by itself or against a virtual adapter in another process."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from dataclasses import dataclass, field, replace

import pytest

from pullcall.clock import RealClock
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import adapter_process
from pullcall.sources.bluetooth import BluetoothOptions, BluetoothSource, Timings
from pullcall.sources.sink import AdapterState, ChannelReading, LinkState, ProbeStatus, Source
from tests.tools import require_tool

#: Like the defaults in their order, and short.
QUICK = Timings(
    stale_s=0.6,
    reconnect_s=1.5,
    lost_s=2.0,
    connect_s=1.0,
    disconnect_s=1.0,
    tick_s=0.05,
    look_again_s=0.2,
    unheard_s=3.0,
    back_off_s=(0.05, 0.1, 0.2),
)
DEADLINE_S = 60.0
UNSEEN = ProbeStatus("", "", "", "", LinkState.SEARCHING)

LEFT, TWIN, ADVERT = "02:00:00:00:00:01", "02:00:00:00:00:02", "02:00:00:00:00:03"
HEALTH = Probe(LEFT, "Left", Standard.HEALTH_THERMOMETER, interval_s=0.1, advertise_s=0.1)
PAIR = Probe(
    TWIN,
    "Twin",
    Standard.ENVIRONMENTAL_SENSING,
    channels=("a", "b"),
    interval_s=0.1,
    advertise_s=0.1,
)
BTHOME = Probe(ADVERT, "Advert", Standard.BTHOME, interval_s=0.1, advertise_s=0.1)


class Readings:
    """A sink that keeps everything."""

    def __init__(self) -> None:
        self.all: list[ChannelReading] = []

    def reading(self, reading: ChannelReading) -> None:
        self.all.append(reading)

    def last(self, channel: str) -> float | None:
        return next((r.celsius for r in reversed(self.all) if r.channel == channel), None)

    def count(self, channel: str) -> int:
        return sum(r.channel == channel for r in self.all)


@dataclass
class Collector:
    """A collector at work, and what it delivers."""

    source: Source
    readings: Readings = field(default_factory=Readings)
    running: asyncio.Task[None] | None = None

    def start(self) -> None:
        self.running = asyncio.create_task(self.source.run(self.readings))

    async def stop(self) -> None:
        """End the collector, which must not have ended by itself."""
        if self.running is not None:
            running, self.running = self.running, None
            assert not running.done(), running
            running.cancel()
            await asyncio.wait({running})
            assert running.cancelled()

    def status(self, channel: str) -> ProbeStatus:
        return next((p for p in self.source.probes() if p.channel == channel), UNSEEN)

    def is_in(self, channel: str, state: LinkState) -> bool:
        return self.status(channel).state is state

    def adapter(self) -> AdapterState | None:
        status = self.source.adapter()
        return None if status is None else status.state

    async def until(self, question: Callable[[], bool]) -> None:
        """Wait until the answer is yes, or fail with what is seen instead."""
        deadline = asyncio.get_running_loop().time() + DEADLINE_S
        while not question():
            seen = f"{self.source.adapter()}; {self.source.probes()}"
            assert asyncio.get_running_loop().time() < deadline, seen
            await asyncio.sleep(0.02)

    async def until_streaming(self, *channels: str) -> None:
        """Wait for new readings on each channel."""
        before = {channel: self.readings.count(channel) for channel in channels}
        await self.until(
            lambda: all(
                self.readings.count(channel) > count and self.is_in(channel, LinkState.STREAMING)
                for channel, count in before.items()
            )
        )


@dataclass
class Site(Collector):
    """A collector with the other side's controls."""

    control: Control = field(kw_only=True)

    async def links(self, address: str) -> int:
        found = (await self.control.state())["probes"][address]["links"]
        assert isinstance(found, int)
        return found


@contextlib.asynccontextmanager
async def site(
    monkeypatch: pytest.MonkeyPatch,
    probes: Sequence[Probe],
    options: BluetoothOptions | None = None,
    *,
    prepare: Callable[[Control], Awaitable[None]] | None = None,
) -> AsyncIterator[Site]:
    """Run a collector against ``probes``; ``prepare`` acts on the adapter before it starts."""
    require_tool("dbus-daemon", "dbus")
    async with adapter_process(probes) as adapter:
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", adapter.bus)
        if prepare is not None:
            await prepare(adapter.control)
        chosen = options or BluetoothOptions()
        source = BluetoothSource(replace(chosen, timings=QUICK), RealClock())
        found = Site(source, control=adapter.control)
        found.start()
        try:
            yield found
        finally:
            await found.stop()

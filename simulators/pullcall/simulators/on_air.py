"""Simulated probes put on the air: their values go to the virtual Bluetooth adapter."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass, replace

from pullcall.events import CookHeader
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.source import SimulatedSource
from pullcall.sources.sink import ChannelReading

#: Values waiting for the adapter; when it falls behind, the oldest are dropped.
_WAITING = 64
#: The probes are of different standards, one after the other. Both reach to the heat of a grate.
_STANDARDS = (Standard.HEALTH_THERMOMETER, Standard.COOKWARE)


@dataclass(frozen=True, slots=True)
class Airing:
    """The settings of a cook whose probes are virtual devices, those devices, and for each channel
    of the simulated kitchen the device and sensor that show it."""

    header: CookHeader
    probes: tuple[Probe, ...]
    places: Mapping[str, tuple[str, str]]


def airing(header: CookHeader, interval_s: float) -> Airing:
    """A device for each steak with a probe and one for the grate; ``interval_s`` is the time
    between their values."""
    named = [(f"{one.steak} steak", one.channel) for one in header.steaks]
    named.append(("grate", header.fire.channel))
    probes: list[Probe] = []
    places: dict[str, tuple[str, str]] = {}
    for number, (name, channel) in enumerate(named):
        if channel is not None:
            address = f"02:00:00:00:01:{number + 1:02}"
            standard = _STANDARDS[number % len(_STANDARDS)]
            probes.append(Probe(address, name, standard, interval_s=interval_s, start_c=None))
            places[channel] = address, "1"
    return Airing(_heard_over_the_air(header, places), tuple(probes), places)


def _heard_over_the_air(header: CookHeader, places: Mapping[str, tuple[str, str]]) -> CookHeader:
    channels = {channel: "/".join(place) for channel, place in places.items()}
    steaks = tuple(replace(s, channel=channels.get(s.channel or "")) for s in header.steaks)
    fire = replace(header.fire, channel=channels.get(header.fire.channel or ""))
    return replace(header, steaks=steaks, fire=fire)


class OnAir:
    """Feeds the values of a simulated source to virtual probes; ``places`` as in an Airing."""

    def __init__(
        self, source: SimulatedSource, control: Control, places: Mapping[str, tuple[str, str]]
    ) -> None:
        self._source = source
        self._control = control
        self._places = places
        self._queue: asyncio.Queue[ChannelReading] = asyncio.Queue(_WAITING)

    def reading(self, reading: ChannelReading) -> None:
        """Take one value from the source; never waits."""
        if self._queue.full():
            self._queue.get_nowait()
        self._queue.put_nowait(reading)

    async def run(self) -> None:
        """Feed values until cancelled."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._source.run(self), name="kitchen")
            tasks.create_task(self._feed(), name="feed")

    async def _feed(self) -> None:
        while True:
            reading = await self._queue.get()
            address, sensor = self._places[reading.channel]
            await self._control.set(address, sensor, reading.celsius)

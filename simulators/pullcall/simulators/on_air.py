"""Simulated probes put on the air: their values go to the virtual Bluetooth adapter."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping

from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.source import SimulatedSource
from pullcall.sources.sink import ChannelReading

#: Values waiting for the adapter; when it falls behind, the oldest are dropped.
_WAITING = 64


class OnAir:
    """Feeds the values of a simulated source to virtual probes.

    ``places`` says for each channel of the source which device and sensor shows it.
    """

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

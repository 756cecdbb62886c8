"""The faults whose recovery is measured, and one of them played several times.

``python -m tests.bench.bluetooth_faults NAME RUNS`` prints what it measured as JSON.
"""

from __future__ import annotations

import asyncio
import json
import os
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from pullcall.clock import RealClock
from pullcall.simulators.bluetooth.adapter import VirtualAdapter
from pullcall.simulators.bluetooth.bus import PrivateBus
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.sources.bluetooth import BluetoothOptions, BluetoothSource
from pullcall.sources.sink import AdapterState, ChannelReading, LinkState

LINKED, OTHER, ADVERT = "02:00:00:00:02:01", "02:00:00:00:02:02", "02:00:00:00:02:03"
_PROBES = (
    Probe(LINKED, "linked", Standard.HEALTH_THERMOMETER, rise_c=0.01),
    Probe(OTHER, "other", Standard.COOKWARE, rise_c=0.01),
    Probe(ADVERT, "advert", Standard.BTHOME, rise_c=0.01),
)
_LONGEST_S = 180.0
#: Between two runs: longer than the page tells that Bluetooth restarted.
_BETWEEN_S = 16.0


class Air:
    """The adapter, its bus, and when each probe's latest value came."""

    def __init__(self, bus: PrivateBus, adapter: VirtualAdapter) -> None:
        self.bus, self.adapter = bus, adapter
        self.came: dict[str, float] = {}
        self.source = BluetoothSource(BluetoothOptions(), RealClock())

    def reading(self, reading: ChannelReading) -> None:
        """Take one value."""
        self.came[reading.channel] = time.perf_counter()

    def is_told(self, address: str | None) -> bool:
        """Whether the page shows trouble: of that probe, or (None) of the adapter."""
        if address is None:
            status = self.source.adapter()
            return status is not None and status.state is not AdapterState.OK
        shown = next((p for p in self.source.probes() if p.device == address), None)
        return shown is not None and shown.state is not LinkState.STREAMING


Act = Callable[[Air], Awaitable[None] | None]


@dataclass(frozen=True, slots=True)
class Fault:
    """What happens, for how long, and whose state has to tell of it (None: the adapter's)."""

    begin: Act
    end: Act | None = None
    lasts_s: float = 0.0
    told_of: str | None = LINKED
    awaited: tuple[str, ...] = (LINKED,)


def _drop_while(name: str, *on: object) -> Act:
    def act(air: Air) -> None:
        getattr(air.adapter, name)(LINKED, *on)
        air.adapter.drop(LINKED)

    return act


def _of(name: str, *arguments: object) -> Act:
    def act(air: Air) -> Awaitable[None] | None:
        result: Awaitable[None] | None = getattr(air.adapter, name)(*arguments)
        return result

    return act


async def _kill(air: Air) -> None:
    await air.adapter.bluetoothd_stop(tidy=False)


async def _stop_bus(air: Air) -> None:
    await air.bus.stop()
    await _kill(air)


async def _start_bus(air: Air) -> None:
    await air.bus.start()
    await air.adapter.bluetoothd_start()


def _hang(air: Air) -> None:
    air.adapter.bluetoothd_hang()
    air.adapter.drop(LINKED)


def _deafen(air: Air) -> None:
    air.adapter.deafen()
    air.adapter.drop(LINKED)


_EVERY = (LINKED, OTHER, ADVERT)
FAULTS = {
    "the link drops": Fault(_of("drop", LINKED)),
    "the link stands and nothing comes, 20 s": Fault(
        _of("silence", LINKED), _of("silence", LINKED, False), 20.0
    ),
    "the link drops, and Connect hangs for 15 s": Fault(
        _drop_while("hang_connect"), _of("hang_connect", LINKED, False), 15.0
    ),
    "the link drops, and services are not found for 15 s": Fault(
        _drop_while("hang_services"), _of("hang_services", LINKED, False), 15.0
    ),
    "the link drops, and three connects meet another": Fault(_drop_while("in_progress", 3)),
    "the link drops, and three connects break": Fault(_drop_while("abort", 3)),
    "the probe is out of reach for 60 s": Fault(
        _of("vanish", LINKED), _of("come_back", LINKED), 60.0
    ),
    "adverts repeat an old value, 20 s": Fault(
        _of("silence", ADVERT), _of("silence", ADVERT, False), 20.0, ADVERT, (ADVERT,)
    ),
    "the adapter is off, 10 s": Fault(_of("adapter_off"), _of("adapter_on"), 10.0, None, _EVERY),
    "the adapter is pulled, 10 s": Fault(
        _of("adapter_remove"), _of("adapter_add"), 10.0, None, _EVERY
    ),
    "bluetoothd is stopped, 10 s": Fault(
        _of("bluetoothd_stop"), _of("bluetoothd_start"), 10.0, None, _EVERY
    ),
    "bluetoothd is killed, 10 s": Fault(_kill, _of("bluetoothd_start"), 10.0, None, _EVERY),
    "the message bus is killed, 10 s": Fault(_stop_bus, _start_bus, 10.0, None, _EVERY),
    "the link drops, and bluetoothd answers nothing for 20 s": Fault(
        _hang,
        _of("bluetoothd_hang", False),
        20.0,
    ),
    "the link drops, and the adapter hears nothing more": Fault(_deafen),
}


async def play(fault: Fault, runs: int) -> list[tuple[float, float]]:
    """Seconds until the page told of it, and from its end to the next values, for each run."""
    with tempfile.TemporaryDirectory() as folder:
        bus = PrivateBus(Path(folder))
        await bus.start()
        os.environ["DBUS_SYSTEM_BUS_ADDRESS"] = bus.address
        async with VirtualAdapter(bus.address, _PROBES) as adapter:
            air = Air(bus, adapter)
            running = asyncio.create_task(air.source.run(air))
            await _until_new(air, _EVERY)
            measured = []
            for _ in range(runs):
                await asyncio.sleep(_BETWEEN_S)
                measured.append(await _once(air, fault))
            running.cancel()
            await asyncio.wait({running})
        await bus.stop()
    return measured


async def _once(air: Air, fault: Fault) -> tuple[float, float]:
    begun = time.perf_counter()
    told = asyncio.create_task(_until(lambda: air.is_told(fault.told_of)))
    await _act(air, fault.begin)
    ends = begun
    if fault.end is not None:
        await asyncio.sleep(fault.lasts_s)
        ends = time.perf_counter()
        await _act(air, fault.end)
    await _until_new(air, fault.awaited)
    back = max(air.came[f"{address}/1"] for address in fault.awaited)
    return await told - begun, back - ends


async def _act(air: Air, act: Act) -> None:
    result = act(air)
    if result is not None:
        await result


async def _until_new(air: Air, awaited: Sequence[str]) -> None:
    since = time.perf_counter()
    await _until(lambda: all(air.came.get(f"{address}/1", 0.0) > since for address in awaited))


async def _until(question: Callable[[], bool]) -> float:
    ends = time.perf_counter() + _LONGEST_S
    while not question():
        if time.perf_counter() > ends:
            raise TimeoutError
        await asyncio.sleep(0.01)
    return time.perf_counter()


if __name__ == "__main__":
    print(json.dumps(asyncio.run(play(FAULTS[sys.argv[1]], int(sys.argv[2])))))

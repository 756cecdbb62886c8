"""What is on the air in a trial: three probes, who pretends to be one, and a second program."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, replace
from typing import Any

from dbus_fast import BusType, Message, MessageFlag
from dbus_fast.aio import MessageBus

from pullcall.errors import SourceError
from pullcall.simulators.bluetooth.adapter import VirtualAdapter
from pullcall.simulators.bluetooth.bus import PrivateBus
from pullcall.simulators.bluetooth.objects import ADAPTER, DEVICE
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.sources.sink import AdapterState

LEFT, TWIN, ADVERT = "02:00:00:00:00:01", "02:00:00:00:00:02", "02:00:00:00:00:03"
#: Every measurement is this much warmer, and each sensor has a range of its own: a value tells
#: which sensor measured it, and when.
RISE_C, RANGE_C, LOWEST_C = 0.01, 50.0, 100.0
_QUICK: dict[str, Any] = {"interval_s": 0.1, "advertise_s": 0.1, "rise_c": RISE_C}
PROBES = (
    Probe(LEFT, "Left", Standard.HEALTH_THERMOMETER, ("left",), **_QUICK),
    Probe(TWIN, "Twin", Standard.ENVIRONMENTAL_SENSING, ("a", "b"), **_QUICK),
    Probe(ADVERT, "Advert", Standard.BTHOME, ("advert",), **_QUICK),
)
SENSORS = tuple((probe.address, channel) for probe in PROBES for channel in probe.channels)
CHANNELS = (f"{LEFT}/1", f"{TWIN}/1", f"{TWIN}/2", f"{ADVERT}/1")

#: Those who pretend: the name and the service of a real probe, and what they say.
FORGERS = {
    "plausible": Probe("0A:00:00:00:00:01", "Left", Standard.HEALTH_THERMOMETER, start_c=54.3),
    "absurd": Probe("0A:00:00:00:00:02", "Twin", Standard.ENVIRONMENTAL_SENSING, start_c=-270.0),
    "advert": Probe("0A:00:00:00:00:03", "Advert", Standard.BTHOME, start_c=53.9),
    "mute": Probe("0A:00:00:00:00:04", "Left", Standard.HEALTH_THERMOMETER, start_c=54.3),
}
_HEALTHY = frozenset({AdapterState.OK, AdapterState.RESTARTED})


@dataclass(frozen=True, slots=True)
class Measured:
    """Which sensor a value came from, and the number of its measurement."""

    address: str
    channel: str
    number: int


def measured(celsius: float) -> Measured | None:
    """Read a value; None where no sensor of ours can have measured it."""
    place = int((celsius - LOWEST_C) // RANGE_C)
    if not 0 <= place < len(SENSORS):
        return None
    return Measured(*SENSORS[place], round((celsius - LOWEST_C - place * RANGE_C) / RISE_C))


class Air:
    """Everything that a script of faults can do, one method each."""

    def __init__(self, bus: PrivateBus) -> None:
        self.adapter = VirtualAdapter(bus.address, PROBES)
        self._bus = bus
        self._has_bus = self._has_service = self._is_plugged = self._is_on = True
        self._is_hung = False
        self._forgers: set[str] = set()
        self._held: set[str] = set()
        self._others: set[str] = set()
        for place, (address, channel) in enumerate(SENSORS):
            self.adapter.set(address, channel, LOWEST_C + place * RANGE_C)

    def latest(self, sensor: Measured) -> int:
        """The number of the latest measurement of that sensor."""
        celsius = self.adapter.state()["probes"][sensor.address]["values"][sensor.channel]
        found = measured(celsius)
        assert found is not None, "a trial must end before a sensor leaves its range"
        return found.number

    def scans(self) -> int:
        """How many scans run that are not a second program's."""
        return len(set(self.adapter.state()["scanners"]) - self._others)

    def name(self, address: str) -> str:
        """What a real probe is called now."""
        found = self.adapter.state()["probes"][address]["name"]
        assert isinstance(found, str)
        return found

    def adapter_states(self) -> frozenset[AdapterState]:
        """What the page may say of the adapter, once it has had its time."""
        if not (self._has_bus and self._has_service and self._is_plugged):
            return frozenset({AdapterState.MISSING})
        if not self._is_on:
            return frozenset({AdapterState.OFF})
        return _HEALTHY | {AdapterState.STUCK}

    # What happens

    async def act(self, name: str, *arguments: Any) -> None:
        """Do one thing: of this class, or of the virtual adapter."""
        mine = getattr(self, f"_{name}", None)
        result = (mine or getattr(self.adapter, name))(*arguments)
        if result is not None:
            await result

    async def heal(self) -> None:
        """End every fault."""
        for address in (LEFT, TWIN, ADVERT):
            for fault in ("silence", "hang_connect", "hang_services"):
                getattr(self.adapter, fault)(address, False)
            self.adapter.in_progress(address, 0)
            self.adapter.abort(address, 0)
            self.adapter.come_back(address)
        for address in self._held:
            self.adapter.drop(address)
        for kind in list(self._forgers):
            self._forger_leaves(kind)
        self.adapter.filter_repeats()
        self.adapter.hold_repeats(False)
        self._hang(False)
        await self._bus_starts()
        await self._service_starts()
        self._adapter_add()
        self._adapter_on()

    async def _bus_stops(self) -> None:
        await self._bus.stop()
        self._has_bus = False
        await self._service_stops(False)

    async def _bus_starts(self) -> None:
        await self._bus.start()
        self._has_bus = True

    async def _service_stops(self, tidy: bool) -> None:
        await self.adapter.bluetoothd_stop(tidy=tidy)
        self._has_service = self._is_hung = False

    async def _service_starts(self) -> None:
        with contextlib.suppress(SourceError):  # there is no bus
            await self.adapter.bluetoothd_start()
            if not self._has_service:
                self._is_on = True
            self._has_service = True

    def _hang(self, on: bool) -> None:
        self._is_hung = on
        self.adapter.bluetoothd_hang(on)

    def _adapter_remove(self) -> None:
        if self._is_plugged:
            self.adapter.adapter_remove()
            self._is_plugged = False

    def _adapter_add(self) -> None:
        if not self._is_plugged:
            self.adapter.adapter_add()
            self._is_plugged = self._is_on = True

    def _adapter_off(self) -> None:
        self._is_on = self._is_on and not (self._has_service and self._is_plugged)
        self.adapter.adapter_off()

    def _adapter_on(self) -> None:
        self._is_on = self._is_on or (self._has_service and self._is_plugged)
        self.adapter.adapter_on()

    def _held_by_another(self, address: str) -> None:
        self._held.add(address)
        self.adapter.orphan(address)

    def _forger_comes(self, kind: str) -> None:
        if kind not in self._forgers:
            self._forgers.add(kind)
            forger = FORGERS[kind]
            self.adapter.add(replace(forger, interval_s=0.1, advertise_s=0.1))
            self.adapter.hang_connect(forger.address, kind == "mute")

    def _forger_leaves(self, kind: str) -> None:
        if kind in self._forgers:
            self._forgers.remove(kind)
            self.adapter.remove(FORGERS[kind].address)

    async def _second_program(self, member: str, address: str = "") -> None:
        """Another program of this machine asks the service for something, and leaves."""
        if not (self._has_bus and self._has_service):
            return
        path = "/org/bluez/hci0"
        device = f"{path}/dev_{address.replace(':', '_')}"
        is_of_device = member in ("Connect", "Disconnect")
        program = await MessageBus(self._bus.address, bus_type=BusType.SYSTEM).connect()
        self._others.add(str(program.unique_name))
        await program.send(
            Message(
                destination="org.bluez",
                path=device if is_of_device else path,
                interface=DEVICE if is_of_device else ADAPTER,
                member=member,
                signature="o" if member == "RemoveDevice" else "",
                body=[device] if member == "RemoveDevice" else [],
                flags=MessageFlag.NO_REPLY_EXPECTED,
            )
        )
        program.disconnect()
        with contextlib.suppress(EOFError, OSError):
            await program.wait_for_disconnect()  # type: ignore[no-untyped-call]

"""The virtual adapter: probes on the air, and everything that can go wrong with them."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Mapping, Sequence
from types import TracebackType
from typing import Any, Self

from dbus_fast import BusType, Message
from dbus_fast.aio import MessageBus

from pullcall.errors import RefusedError, SourceError, UnknownNameError
from pullcall.simulators.bluetooth.device import Device
from pullcall.simulators.bluetooth.probes import Probe
from pullcall.simulators.bluetooth.service import BluezService

_NAME = "org.bluez"
#: BlueZ drops a device it has not heard for this long and has no other reason to know, seconds.
FORGET_S = 30.0


class VirtualAdapter:
    """One adapter with its probes, served on the bus at ``bus``. Use as an async context manager.

    Temperatures change with :meth:`set` or :meth:`feed`; every other method is something that
    happens to a probe, to the adapter or to the Bluetooth service. Methods raise
    :class:`UnknownNameError` for an address or channel that was never added.
    """

    def __init__(
        self,
        bus: str,
        probes: Sequence[Probe] = (),
        *,
        name: str = "hci0",
        forget_s: float = FORGET_S,
    ) -> None:
        self._address = bus
        self._forget_s = forget_s
        self._bus: MessageBus | None = None
        self._service = BluezService(f"/org/bluez/{name}", self._send)
        self._filters_repeats = True
        self._holds_repeats = False
        self._is_plugged = True
        self._devices: dict[str, Device] = {}
        self._tasks: dict[str, list[asyncio.Task[None]]] = {}
        self._is_entered = False
        for probe in probes:
            self._register(probe)

    async def __aenter__(self) -> Self:
        await self.bluetoothd_start()
        self._is_entered = True
        for device in self._devices.values():
            self._animate(device)
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        tasks = [task for both in self._tasks.values() for task in both]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        await self.bluetoothd_stop(tidy=True)

    # Probes and their values

    def add(self, probe: Probe) -> None:
        """Bring one more probe within reach; :class:`RefusedError` if its address is taken."""
        device = self._register(probe)
        if self._is_entered:
            self._animate(device)

    def remove(self, address: str) -> None:
        """Take a probe away for good."""
        device = self._device(address)
        if device.canceled is not None:
            device.canceled.set()
        if device.path in self._service.tree:
            self.drop(address)
            self._service.tree.remove(device.path)
        for task in self._tasks.pop(address, ()):
            task.cancel()
        del self._devices[address], self._service.devices[device.path]

    def set(self, address: str, channel: str, celsius: float | None) -> None:
        """Give one channel a temperature from the next measurement on; None is unplugged."""
        device = self._device(address)
        if channel not in device.values:
            raise UnknownNameError(
                f"probe {address} has no channel {channel}; it has {', '.join(device.values)}"
            )
        device.values[channel] = celsius

    def feed(self, values: Sequence[tuple[str, str, float | None]]) -> None:
        """:meth:`set` for many (address, channel, Celsius)."""
        for address, channel, celsius in values:
            self.set(address, channel, celsius)

    # What happens to one probe

    def drop(self, address: str) -> None:
        """The link is lost; the probe advertises again."""
        device = self._device(address)
        if device.is_connected:
            device.link_down()

    def hang_connect(self, address: str, on: bool = True) -> None:
        """Connect never answers while this is on."""
        self._device(address).faults.hangs_connect = on

    def hang_services(self, address: str, on: bool = True) -> None:
        """Links come up, and their services are never found, while this is on."""
        self._device(address).faults.hangs_services = on

    def in_progress(self, address: str, times: int = 1) -> None:
        """The next ``times`` connects are refused because another one is under way."""
        self._device(address).faults.in_progress = times

    def abort(self, address: str, times: int = 1) -> None:
        """The next ``times`` connects come up and break at once (le-connection-abort-by-local)."""
        self._device(address).faults.aborts = times

    def silence(self, address: str, on: bool = True) -> None:
        """The probe measures no more: its link stands without data, its advert never changes."""
        self._device(address).faults.is_silent = on

    def send_packet(self, address: str, packet: bytes, characteristic: str | None = None) -> None:
        """Send these bytes once: in an advert, or on ``characteristic`` (default: all notified)."""
        device = self._device(address)
        if not device.probe.is_connectable:
            self._hear(device, dict.fromkeys(device.measured, packet))
            return
        for path in list(device.notifying):
            if characteristic in (None, device.characteristics[path].uuid):
                device.push(path, packet)

    def repeat(self, address: str) -> None:
        """Tell the values as they are once more: on the link, or in an advert."""
        device = self._device(address)
        device.push_all()
        if device.is_advertising:
            self._hear(device, None)

    def replay(self, address: str, back: int = 1) -> None:
        """Send the advert of ``back`` measurements ago again, as whoever recorded it could."""
        sent = self._device(address).sent
        if len(sent) > back:
            self._hear(self._device(address), sent[-1 - back])

    def count_anew(self, address: str) -> None:
        """Number its measurements from the start again, as after a change of its battery."""
        device = self._device(address)
        device.numbered_from = device.count

    def set_battery(self, address: str, percent: int) -> None:
        """Set what its battery level reads: in the next advert, or on the next link."""
        self._device(address).change_probe(battery_percent=percent)

    def swap_channels(self, address: str) -> None:
        """Exchange its sensors' places: in the next advert, or on the next link."""
        device = self._device(address)
        device.change_probe(channels=tuple(reversed(device.probe.channels)))

    def swap_names(self, one: str, other: str) -> None:
        """Exchange the names of two probes."""
        first, second = self._device(one), self._device(other)
        name = first.probe.name
        first.change_probe(name=second.probe.name)
        second.change_probe(name=name)

    def vanish(self, address: str) -> None:
        """Out of reach or out of battery: the link breaks and adverts stop."""
        device = self._device(address)
        device.faults.is_away = True
        self.drop(address)

    def come_back(self, address: str) -> None:
        """Within reach again."""
        self._device(address).faults.is_away = False

    def orphan(self, address: str) -> None:
        """Connected already, by a program that is gone, and so not advertising."""
        device = self._device(address)
        if self._is_serving:
            device.appear_connected()

    # What happens to the adapter and to the Bluetooth service

    def filter_repeats(self, on: bool = True) -> None:
        """Hold back unchanged adverts from clients that did not ask for duplicates (the rule)."""
        self._filters_repeats = on

    def hold_repeats(self, on: bool = True) -> None:
        """Hold back unchanged adverts even from clients that asked for them: some radios do."""
        self._holds_repeats = on

    def deafen(self) -> None:
        """Hear nothing more and say nothing of it, until a scan is started anew."""
        self._service.is_deaf = True

    def adapter_off(self) -> None:
        """Switch the radio off: links and scans end."""
        if self._is_serving:
            self._service.set_powered(False)

    def adapter_on(self) -> None:
        """Switch the radio on. Clients have to start their scans anew."""
        if self._is_serving:
            self._service.set_powered(True)

    def adapter_remove(self) -> None:
        """Pull the adapter: its objects go, and no link says that it ended."""
        self._is_plugged = False
        if self._is_serving:
            self._service.end_sessions()
            for device in self._devices.values():
                device.forget_link()
            self._service.tree.remove(self._service.adapter)

    def adapter_add(self) -> None:
        """Plug the adapter in again; devices are known once heard."""
        self._is_plugged = True
        if self._bus is not None and self._service.adapter not in self._service.tree:
            self._service.is_powered = True
            self._service.show_adapter()

    async def bluetoothd_stop(self, *, tidy: bool = True) -> None:
        """End the Bluetooth service: with its goodbyes, or ``tidy`` False as when killed."""
        bus = self._bus
        if bus is None:
            return
        if tidy and self._is_serving:
            self._service.set_powered(False)
            self._service.tree.remove(self._service.adapter)
        if tidy and bus.connected:
            await bus.release_name(_NAME)
        self._bus = None
        self._service.forget()
        bus.disconnect()
        with contextlib.suppress(EOFError, OSError):
            await bus.wait_for_disconnect()  # type: ignore[no-untyped-call]

    def bluetoothd_hang(self, on: bool = True) -> None:
        """Leave every call to the Bluetooth service waiting while this is on."""
        self._service.hang(on)

    async def bluetoothd_start(self) -> None:
        """Start the Bluetooth service afresh: the adapter is there, devices have to be heard."""
        if self._bus is not None:
            return
        bus = MessageBus(self._address, bus_type=BusType.SYSTEM)
        try:
            await bus.connect()
        except OSError as exc:
            raise SourceError(f"no message bus at {self._address}; start one first") from exc
        bus.add_message_handler(self._handle)
        await bus.call(_watch_clients())
        self._bus = bus
        await bus.request_name(_NAME)
        self._service.is_powered = True
        if self._is_plugged:
            self._service.show_adapter()

    def state(self) -> dict[str, Any]:
        """What stands now, as plain data: the service, the adapter, the scan and each probe.

        ``scanners`` are the clients that scan; ``overlaps`` counts connects that were asked for
        while another one was under way.
        """
        return {
            "bluetoothd": self._bus is not None,
            "adapter": self._bus is not None and self._is_plugged,
            "powered": self._service.is_powered,
            "scanning": bool(self._service.scanners),
            "scanners": sorted(self._service.scanners),
            "overlaps": self._service.overlaps,
            "duplicates": self._service.wants_repeats,
            "probes": {address: _seen(device) for address, device in self._devices.items()},
        }

    @property
    def _is_serving(self) -> bool:
        return self._bus is not None and self._service.adapter in self._service.tree

    def _register(self, probe: Probe) -> Device:
        if probe.address in self._devices:
            raise RefusedError(f"there is a virtual probe {probe.address} already; choose another")
        path = f"{self._service.adapter}/dev_{probe.address.replace(':', '_')}"
        values: dict[str, float | None] = dict.fromkeys(probe.channels, probe.start_c)
        device = Device(probe, path, self._service.tree, values)
        self._devices[probe.address] = self._service.devices[path] = device
        return device

    def _device(self, address: str) -> Device:
        try:
            return self._devices[address]
        except KeyError:
            raise UnknownNameError(f"no virtual probe has the address {address}") from None

    def _animate(self, device: Device) -> None:
        both = (self._measure_loop(device), self._advertise_loop(device))
        self._tasks[device.probe.address] = [asyncio.create_task(work) for work in both]

    async def _measure_loop(self, device: Device) -> None:
        while True:
            device.measure()
            await asyncio.sleep(device.probe.interval_s)

    async def _advertise_loop(self, device: Device) -> None:
        while True:
            if device.is_advertising:
                self._hear(device, None)
            self._forget_unheard(device)
            await asyncio.sleep(device.probe.advertise_s)

    def _hear(self, device: Device, data: Mapping[str, bytes] | None) -> None:
        service = self._service
        is_scanning = service.is_powered and service.scanners and not service.is_deaf
        if self._is_serving and is_scanning:
            asked = service.wants_repeats or not self._filters_repeats
            repeats = asked and not self._holds_repeats
            now = asyncio.get_running_loop().time()
            device.advertise(now, repeats=repeats, data=data)

    def _forget_unheard(self, device: Device) -> None:
        tree = self._service.tree
        age = asyncio.get_running_loop().time() - device.last_heard
        is_busy = device.is_connected or device.canceled is not None
        if device.path in tree and not is_busy and age > self._forget_s:
            device.is_heard = False
            tree.remove(device.path)

    def _handle(self, message: Message) -> Message | bool:
        if message.member == "NameOwnerChanged" and message.sender == "org.freedesktop.DBus":
            name, _old, new = message.body
            if name.startswith(":") and not new:
                self._service.client_gone(name)
            return False
        return self._service.handle(message)

    def _send(self, message: Message) -> None:
        if self._bus is not None and self._bus.connected:
            self._bus.send(message)


def _watch_clients() -> Message:
    rule = "type='signal',sender='org.freedesktop.DBus',member='NameOwnerChanged'"
    return Message(
        destination="org.freedesktop.DBus",
        path="/org/freedesktop/DBus",
        interface="org.freedesktop.DBus",
        member="AddMatch",
        signature="s",
        body=[rule],
    )


def _seen(device: Device) -> Mapping[str, Any]:
    notifying = [device.characteristics[path].uuid for path in device.notifying]
    return {
        "name": device.probe.name,
        "known": device.path in device.tree,
        "connected": device.is_connected,
        "advertising": device.is_advertising,
        "notifying": notifying,
        "connects": device.connects,
        "links": device.links,
        "measurements": device.count,
        "values": dict(device.values),
    }

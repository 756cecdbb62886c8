"""The calls of BlueZ's D-Bus interface that a Bluetooth Low Energy client makes.

Behaviour follows BlueZ's own interface documents (org.bluez.Adapter, Device, GattCharacteristic).
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine

from dbus_fast import DBusError, Message, MessageType, Variant

from pullcall.simulators.bluetooth.device import Device
from pullcall.simulators.bluetooth.objects import (
    ADAPTER,
    DEVICE,
    GATT_CHARACTERISTIC,
    GATT_DESCRIPTOR,
    OBJECT_MANAGER,
    PROPERTIES,
    ObjectTree,
)

#: Radio time for a link to come up, and then for its services to be read, seconds.
CONNECT_S = 0.02
RESOLVE_S = 0.01

Answer = tuple[str, list[object]]
_DONE: Answer = ("", [])


class BluezService:
    """Answers calls for one adapter. ``send`` puts a message on the bus while there is one."""

    def __init__(self, adapter: str, send: Callable[[Message], None]) -> None:
        self.adapter = adapter
        self.tree = ObjectTree(send)
        self.devices: dict[str, Device] = {}
        self.scanners: dict[str, bool] = {}
        self.is_powered = True
        self.is_deaf = False
        self.overlaps = 0
        self._is_hung = False
        self._waiting: list[Message] = []
        self._filters: dict[str, bool] = {}
        self._send = send
        self._connecting: Device | None = None
        self._tasks: set[asyncio.Task[None]] = set()
        self._calls: dict[tuple[str, str], Callable[[Message], Answer | None]] = {
            (OBJECT_MANAGER, "GetManagedObjects"): self._managed_objects,
            (PROPERTIES, "Get"): self._get,
            (PROPERTIES, "GetAll"): self._get_all,
            (PROPERTIES, "Set"): self._set,
            (ADAPTER, "SetDiscoveryFilter"): self._set_filter,
            (ADAPTER, "StartDiscovery"): self._start_discovery,
            (ADAPTER, "StopDiscovery"): self._stop_discovery,
            (ADAPTER, "RemoveDevice"): self._remove_device,
            (DEVICE, "Connect"): self._connect,
            (DEVICE, "Disconnect"): self._disconnect,
            (DEVICE, "Pair"): self._pair,
            (GATT_CHARACTERISTIC, "ReadValue"): self._read,
            (GATT_CHARACTERISTIC, "StartNotify"): self._start_notify,
            (GATT_CHARACTERISTIC, "StopNotify"): self._stop_notify,
            (GATT_DESCRIPTOR, "ReadValue"): self._read_descriptor,
        }

    @property
    def wants_repeats(self) -> bool:
        """Whether any client asked for every advert (DuplicateData)."""
        return any(self.scanners.values())

    def show_adapter(self) -> None:
        """Put the adapter on the bus, with no devices."""
        self.tree.add(
            self.adapter,
            ADAPTER,
            {
                "Address": Variant("s", "02:00:00:00:00:01"),
                "Name": Variant("s", "virtual"),
                "Alias": Variant("s", "virtual"),
                "Powered": Variant("b", self.is_powered),
                "Discovering": Variant("b", False),
                "Roles": Variant("as", ["central"]),
                "UUIDs": Variant("as", []),
            },
        )

    def set_powered(self, powered: bool) -> None:
        """Switch the adapter. Off ends all links and all scanning, as BlueZ does."""
        self.is_powered = powered
        if not powered:
            self.end_sessions()
            for device in self.devices.values():
                if device.is_connected:
                    device.link_down()
        self.tree.change(self.adapter, ADAPTER, {"Powered": Variant("b", powered)})

    def end_sessions(self) -> None:
        """Forget every client's scan and give up a pending connect."""
        self.scanners.clear()
        self._show_discovering()
        for device in self.devices.values():
            device.is_heard = False
            if device.canceled is not None:
                device.canceled.set()

    def forget(self) -> None:
        """Lose everything and tell nobody."""
        self.scanners.clear()
        self._filters.clear()
        for task in self._tasks:
            task.cancel()
        for device in self.devices.values():
            device.forget_link()
        self._connecting = None
        self._is_hung = self.is_deaf = False
        self._waiting.clear()
        self.tree.forget()

    def hang(self, on: bool) -> None:
        """Answer nothing while this is on, and then everything that was asked meanwhile."""
        self._is_hung = on
        while self._waiting and not on:
            message = self._waiting.pop(0)
            try:
                answer = self.handle(message)
            except DBusError as error:
                answer = Message.new_error(message, error.type, error.text)
            if isinstance(answer, Message):
                self._send(answer)

    def client_gone(self, client: str) -> None:
        """A client left the bus: its scans and notifications end; links it made stay."""
        self._filters.pop(client, None)
        if self.scanners.pop(client, None) is not None:
            self._show_discovering()
        for device in self.devices.values():
            for path in list(device.notifying):
                device.unsubscribe(path, client)

    def handle(self, message: Message) -> Message | bool:
        """Answer one call; False leaves it to the library (Ping, Introspect)."""
        if message.message_type is not MessageType.METHOD_CALL:
            return False
        if self._is_hung:
            self._waiting.append(message)
            return True
        call = self._calls.get((message.interface or "", message.member or ""))
        if call is None:
            return False
        if call != self._managed_objects and self.tree.interfaces(message.path or "") is None:
            raise DBusError(
                "org.freedesktop.DBus.Error.UnknownObject", f"No object at {message.path}"
            )
        answer = call(message)
        return True if answer is None else _reply(message, answer)

    def _managed_objects(self, _message: Message) -> Answer:
        return "a{oa{sa{sv}}}", [self.tree.managed()]

    def _get(self, message: Message) -> Answer:
        interface, name = message.body
        try:
            return "v", [(self.tree.interfaces(message.path or "") or {})[interface][name]]
        except KeyError:
            raise DBusError(
                "org.freedesktop.DBus.Error.InvalidArgs", f"No such property {name}"
            ) from None

    def _get_all(self, message: Message) -> Answer:
        return "a{sv}", [(self.tree.interfaces(message.path or "") or {}).get(message.body[0], {})]

    def _set(self, message: Message) -> Answer:
        interface, name, value = message.body
        if (interface, name) == (ADAPTER, "Powered"):
            self.set_powered(value.value)
        elif (interface, name) == (DEVICE, "Trusted"):
            self.tree.change(message.path or "", DEVICE, {name: value})
        else:
            raise DBusError("org.freedesktop.DBus.Error.PropertyReadOnly", f"{name} cannot be set")
        return _DONE

    def _set_filter(self, message: Message) -> Answer:
        duplicates = message.body[0].get("DuplicateData", Variant("b", False))
        self._filters[message.sender or ""] = bool(duplicates.value)
        return _DONE

    def _start_discovery(self, message: Message) -> Answer:
        self._require_power()
        client = message.sender or ""
        if client in self.scanners:
            raise DBusError("org.bluez.Error.InProgress", "Operation already in progress")
        self.is_deaf = False
        # What was heard in an earlier scan is news in this one.
        for device in self.devices.values():
            device.is_heard = False
        self.scanners[client] = self._filters.get(client, False)
        self._show_discovering()
        return _DONE

    def _stop_discovery(self, message: Message) -> Answer:
        self._require_power()
        if self.scanners.pop(message.sender or "", None) is None:
            raise DBusError("org.bluez.Error.Failed", "No discovery started")
        self._show_discovering()
        if not self.scanners:
            for device in self.devices.values():
                if device.path in self.tree:
                    self.tree.invalidate(device.path, DEVICE, "RSSI")
        return _DONE

    def _show_discovering(self) -> None:
        if self.adapter in self.tree:
            state = {"Discovering": Variant("b", bool(self.scanners))}
            self.tree.change(self.adapter, ADAPTER, state)

    def _remove_device(self, message: Message) -> Answer:
        path = message.body[0]
        if path not in self.tree or path not in self.devices:
            raise DBusError("org.bluez.Error.DoesNotExist", "Does Not Exist")
        if self.devices[path].is_connected:
            self.devices[path].link_down()
        self.tree.remove(path)
        return _DONE

    def _connect(self, message: Message) -> Answer | None:
        device = self.devices[message.path or ""]
        device.connects += 1
        self._require_power()
        if device.is_connected:
            raise DBusError("org.bluez.Error.AlreadyConnected", "Already Connected")
        if self._connecting is not None:
            self.overlaps += 1
            raise DBusError("org.bluez.Error.InProgress", "Operation already in progress")
        if device.faults.in_progress:
            device.faults.in_progress -= 1
            raise DBusError("org.bluez.Error.InProgress", "Operation already in progress")
        self._connecting = device
        device.canceled = asyncio.Event()
        self._start(self._bring_up(device, device.canceled, message))
        return None

    async def _bring_up(self, device: Device, canceled: asyncio.Event, message: Message) -> None:
        try:
            error = await self._radio(device, canceled)
        finally:
            if self._connecting is device:
                self._connecting = None
            device.canceled = None
        if error is not None:
            self._send(Message.new_error(message, "org.bluez.Error.Failed", error))
            return
        device.link_up()
        self._send(_reply(message, _DONE))
        await asyncio.sleep(RESOLVE_S)
        if device.is_connected and not device.faults.hangs_services:
            device.resolve()

    async def _radio(self, device: Device, canceled: asyncio.Event) -> str | None:
        """Wait as long as the radio would; say what went wrong, if anything did."""
        if device.faults.hangs_connect or device.faults.is_away:
            await canceled.wait()
            return "Operation canceled"
        await asyncio.sleep(CONNECT_S)
        if canceled.is_set() or device.path not in self.tree:
            return "Operation canceled"
        if device.faults.aborts:
            device.faults.aborts -= 1
            # The link comes up for a moment, and both changes are signalled.
            device.link_up()
            asyncio.get_running_loop().call_soon(device.link_down)
            return "le-connection-abort-by-local"
        return None

    def _start(self, work: Coroutine[None, None, None]) -> None:
        task = asyncio.create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    def _disconnect(self, message: Message) -> Answer:
        device = self.devices[message.path or ""]
        if device.canceled is not None:
            device.canceled.set()
            self._connecting = None
        if device.is_connected:
            device.link_down()
        return _DONE

    def _pair(self, message: Message) -> Answer | None:
        device = self.devices[message.path or ""]
        self.tree.change(device.path, DEVICE, {"Paired": Variant("b", True)})
        return _DONE if device.is_connected else self._connect(message)

    def _read(self, message: Message) -> Answer:
        device, path = self._owner(message)
        characteristic = device.characteristics[path]
        if "read" not in characteristic.flags:
            raise DBusError("org.bluez.Error.NotPermitted", "Read not permitted")
        packet = characteristic.encode(device.values)
        # BlueZ tells everyone who is notified of what one client read.
        device.push(path, packet)
        return "ay", [packet]

    def _start_notify(self, message: Message) -> Answer:
        device, path = self._owner(message)
        if not device.characteristics[path].is_pushed:
            raise DBusError("org.bluez.Error.NotSupported", "Operation is not supported")
        device.subscribe(path, message.sender or "")
        return _DONE

    def _stop_notify(self, message: Message) -> Answer:
        device, path = self._owner(message)
        device.unsubscribe(path, message.sender or "")
        return _DONE

    def _read_descriptor(self, message: Message) -> Answer:
        device, path = self._owner(message)
        return "ay", [device.labels[path]]

    def _owner(self, message: Message) -> tuple[Device, str]:
        path = message.path or ""
        for device in self.devices.values():
            if path.startswith(device.path + "/"):
                return device, path
        raise DBusError("org.freedesktop.DBus.Error.UnknownObject", f"No object at {path}")

    def _require_power(self) -> None:
        if not self.is_powered:
            raise DBusError("org.bluez.Error.NotReady", "Resource Not Ready")


def _reply(message: Message, answer: Answer) -> Message:
    signature, body = answer
    return Message.new_method_return(message, signature, body)

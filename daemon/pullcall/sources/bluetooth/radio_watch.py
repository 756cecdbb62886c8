"""Watches the Bluetooth service on the message bus: bleak does not notice when it restarts."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Mapping
from typing import TYPE_CHECKING, Any

from pullcall.sources.bluetooth.radio import Radio

if TYPE_CHECKING:
    from dbus_fast import Message
    from dbus_fast.aio import MessageBus

_BUS = "org.freedesktop.DBus"
_BLUEZ = "org.bluez"
_ADAPTER = "org.bluez.Adapter1"
_OBJECTS = "org.freedesktop.DBus.ObjectManager"
_PROPERTIES = "org.freedesktop.DBus.Properties"
_DENIED = "org.freedesktop.DBus.Error.AccessDenied"
#: A service that takes longer to answer is hung, seconds.
_ANSWER_S = 10.0
_RULES = (
    f"type='signal',sender='{_BUS}',member='NameOwnerChanged',arg0='{_BLUEZ}'",
    f"type='signal',sender='{_BLUEZ}',interface='{_OBJECTS}'",
    f"type='signal',sender='{_BLUEZ}',interface='{_PROPERTIES}',arg0='{_ADAPTER}'",
)


class RadioWatch:
    """Keeps a :class:`Radio` up to date from signals, and says when something changed."""

    def __init__(self, bus: MessageBus, radio: Radio) -> None:
        self._bus = bus
        self._radio = radio
        self._changed = asyncio.Event()

    def has_gone(self, end: asyncio.Future[None]) -> None:
        """The connection to the bus ended; :meth:`check` says so to whoever waits."""
        if not end.cancelled():
            end.exception()  # looked at, so that nothing is said about it later
        self._changed.set()

    async def changed(self, within_s: float) -> None:
        """Return at the next change, or after ``within_s`` seconds."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(within_s):
                await self._changed.wait()
        self._changed.clear()

    def check(self) -> None:
        """Make sure that signals can still arrive.

        :raises ConnectionError: the bus has gone.
        """
        if not self._bus.connected:
            raise ConnectionError("the system message bus has gone")

    async def refresh(self) -> None:
        """Ask who serves Bluetooth and which adapters it has."""
        reply = await self._call(_BUS, "/org/freedesktop/DBus", _BUS, "NameHasOwner", _BLUEZ)
        if not reply.body[0]:
            return
        objects = await self._call(_BLUEZ, "/", _OBJECTS, "GetManagedObjects")
        if objects.error_name == _DENIED:
            self._radio.denied()
        elif objects.error_name is None:
            self._radio.service_seen()
            for path, interfaces in objects.body[0].items():
                self._added(path, interfaces)

    async def battery(self, device: str) -> int | None:
        """Percent as the Bluetooth service read it: it may keep the battery for itself."""
        reply = await self._call(
            _BLUEZ, device, _PROPERTIES, "Get", "org.bluez.Battery1", "Percentage"
        )
        return None if reply.error_name else int(reply.body[0].value)

    async def listen(self) -> None:
        """Subscribe to everything that matters, then see what is there."""
        self._radio.owner_changed("")  # what was known came from an earlier bus
        self._bus.add_message_handler(self._handle)
        for rule in _RULES:
            await self._call(_BUS, "/org/freedesktop/DBus", _BUS, "AddMatch", rule)
        await self.refresh()

    async def _call(
        self, name: str, path: str, interface: str, member: str, *arguments: str
    ) -> Message:
        from dbus_fast import Message

        message = Message(
            destination=name,
            path=path,
            interface=interface,
            member=member,
            signature="s" * len(arguments),
            body=list(arguments),
        )
        self.check()
        async with asyncio.timeout(_ANSWER_S):
            return await self._bus.call(message)

    def _handle(self, message: Message) -> None:
        if message.member == "NameOwnerChanged" and message.body[0] == _BLUEZ:
            self._radio.owner_changed(message.body[2])
        elif message.member == "InterfacesAdded":
            self._added(*message.body)
        elif message.member == "InterfacesRemoved" and _ADAPTER in message.body[1]:
            self._radio.adapter_gone(message.body[0])
        elif message.member == "PropertiesChanged" and message.body[0] == _ADAPTER:
            self._radio.adapter_seen(str(message.path), _plain(message.body[1]))
        else:
            return
        self._changed.set()

    def _added(self, path: str, interfaces: Mapping[str, Mapping[str, Any]]) -> None:
        if _ADAPTER in interfaces:
            self._radio.adapter_seen(path, _plain(interfaces[_ADAPTER]))


@contextlib.asynccontextmanager
async def watch_radio(radio: Radio) -> AsyncIterator[RadioWatch]:
    """Open a connection of our own to the system bus, for the length of a block.

    :raises OSError: (or an error of the bus) no bus answers.
    """
    from dbus_fast import BusType
    from dbus_fast.aio import MessageBus

    bus = MessageBus(bus_type=BusType.SYSTEM)
    try:
        await bus.connect()
    except BaseException:
        bus.disconnect()  # a failed connect leaves its socket open
        raise
    watch = RadioWatch(bus, radio)
    end = asyncio.ensure_future(bus.wait_for_disconnect())  # type: ignore[no-untyped-call]
    end.add_done_callback(watch.has_gone)
    try:
        await watch.listen()
        yield watch
    finally:
        bus.disconnect()
        await asyncio.wait({end})


def _plain(properties: Mapping[str, Any]) -> dict[str, object]:
    return {name: variant.value for name, variant in properties.items()}

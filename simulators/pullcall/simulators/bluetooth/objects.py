"""The objects a Bluetooth service shows on the bus, and the signals that tell of changes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from dbus_fast import Message, Variant

ADAPTER = "org.bluez.Adapter1"
DEVICE = "org.bluez.Device1"
GATT_SERVICE = "org.bluez.GattService1"
GATT_CHARACTERISTIC = "org.bluez.GattCharacteristic1"
GATT_DESCRIPTOR = "org.bluez.GattDescriptor1"
OBJECT_MANAGER = "org.freedesktop.DBus.ObjectManager"
PROPERTIES = "org.freedesktop.DBus.Properties"

Properties = Mapping[str, Variant]
Interfaces = Mapping[str, Properties]


class ObjectTree:
    """Paths, their interfaces and properties; every change goes out through ``send``."""

    def __init__(self, send: Callable[[Message], None]) -> None:
        self._send = send
        self._objects: dict[str, dict[str, dict[str, Variant]]] = {}

    def __contains__(self, path: str) -> bool:
        return path in self._objects

    def managed(self) -> Mapping[str, Interfaces]:
        """Everything there is, as GetManagedObjects answers it."""
        return self._objects

    def interfaces(self, path: str) -> Interfaces | None:
        """The interfaces of one object, or None where there is no such object."""
        return self._objects.get(path)

    def add(self, path: str, interface: str, properties: Properties) -> None:
        """Show a new object."""
        self._objects[path] = {interface: dict(properties)}
        body = [path, self._objects[path]]
        self._emit("/", OBJECT_MANAGER, "InterfacesAdded", "oa{sa{sv}}", body)

    def remove(self, path: str) -> None:
        """Take away an object and all beneath it, deepest first."""
        below = [p for p in self._objects if p == path or p.startswith(path + "/")]
        for gone in sorted(below, reverse=True):
            names = list(self._objects.pop(gone))
            self._emit("/", OBJECT_MANAGER, "InterfacesRemoved", "oas", [gone, names])

    def change(self, path: str, interface: str, properties: Properties) -> None:
        """Set properties and say so, even where the value is the same as before."""
        self._objects[path][interface].update(properties)
        body = [interface, dict(properties), []]
        self._emit(path, PROPERTIES, "PropertiesChanged", "sa{sv}as", body)

    def invalidate(self, path: str, interface: str, name: str) -> None:
        """Take one property away and say so; nothing happens where it is not there."""
        if self._objects[path][interface].pop(name, None) is not None:
            body = [interface, {}, [name]]
            self._emit(path, PROPERTIES, "PropertiesChanged", "sa{sv}as", body)

    def forget(self) -> None:
        """Empty the tree and tell nobody, as a service that was killed does."""
        self._objects.clear()

    def _emit(
        self, path: str, interface: str, member: str, signature: str, body: Sequence[object]
    ) -> None:
        self._send(Message.new_signal(path, interface, member, signature, list(body)))

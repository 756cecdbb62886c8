"""One virtual probe as the adapter meets it: its adverts, its link, its notifications."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from dbus_fast import Variant

from pullcall.simulators.bluetooth.objects import (
    DEVICE,
    GATT_CHARACTERISTIC,
    GATT_DESCRIPTOR,
    GATT_SERVICE,
    ObjectTree,
)
from pullcall.simulators.bluetooth.probes import (
    CLIENT_CONFIGURATION,
    USER_DESCRIPTION,
    Characteristic,
    Probe,
    Service,
    service_data,
    services,
)

#: How far the received strength wanders between adverts, dB: from memory, a quiet room.
_RSSI_WANDER = (0, 1, -1, 2, 0, -2)
#: So many of its adverts can be sent again.
_REMEMBERED = 300


@dataclass(slots=True)
class Faults:
    """What is wrong with one probe, for as long as it is set."""

    is_away: bool = False
    is_silent: bool = False
    hangs_connect: bool = False
    hangs_services: bool = False
    in_progress: int = 0
    aborts: int = 0


@dataclass(slots=True)
class Device:
    """The state of one probe on one adapter. ``path`` is its object on the bus."""

    probe: Probe
    path: str
    tree: ObjectTree
    values: dict[str, float | None]
    faults: Faults = field(default_factory=Faults)
    is_connected: bool = False
    is_heard: bool = False
    last_heard: float = 0.0
    connects: int = 0
    links: int = 0
    count: int = 0
    numbered_from: int = 0
    measured: dict[str, bytes] = field(default_factory=dict)
    sent: deque[dict[str, bytes]] = field(default_factory=lambda: deque(maxlen=_REMEMBERED))
    adverts: int = 0
    canceled: asyncio.Event | None = None
    characteristics: dict[str, Characteristic] = field(default_factory=dict)
    labels: dict[str, bytes] = field(default_factory=dict)
    notifying: dict[str, set[str]] = field(default_factory=dict)

    @property
    def is_advertising(self) -> bool:
        """A connected probe is quiet, and so is one that is away."""
        return not (self.is_connected or self.faults.is_away)

    def measure(self) -> None:
        """Take a new measurement: links push it at once, adverts carry it until the next.

        A silent probe takes none, so its adverts repeat the old one.
        """
        if self.faults.is_silent or self.faults.is_away:
            return
        self.count += 1
        for channel, celsius in self.values.items():
            self.values[channel] = None if celsius is None else celsius + self.probe.rise_c
        self.measured = service_data(self.probe, self.values, self.count - self.numbered_from)
        self.sent.append(self.measured)
        self.push_all()

    def push_all(self) -> None:
        """Notify the values as they are on all that is subscribed to."""
        for path in self.notifying:
            self.push(path, self.characteristics[path].encode(self.values))

    def push(self, path: str, packet: bytes) -> None:
        """Notify or indicate ``packet`` on the characteristic at ``path``."""
        self.tree.change(path, GATT_CHARACTERISTIC, {"Value": Variant("ay", packet)})

    def change_probe(self, **changes: Any) -> None:
        """Be another kind of probe from here on: a link shows it once it is made anew."""
        self.probe = replace(self.probe, **changes)
        if "name" in changes and self.path in self.tree:
            name = Variant("s", self.probe.name)
            self.tree.change(self.path, DEVICE, {"Name": name, "Alias": name})

    def advertise(
        self, now: float, *, repeats: bool, data: Mapping[str, bytes] | None = None
    ) -> None:
        """Be heard once. Without ``repeats`` the adapter passes on only what has changed.

        ``data`` replaces the service data of this one advert.
        """
        self.adverts += 1
        self.last_heard = now
        properties = self._advert(data)
        if self.path not in self.tree:
            self.tree.add(self.path, DEVICE, self._identity() | properties)
        elif repeats or not self.is_heard or self._has_changed(properties):
            self.tree.change(self.path, DEVICE, properties)
        self.is_heard = True

    def link_up(self) -> None:
        """The radio link stands; services are not known yet."""
        self.is_connected = True
        self.links += 1
        self.tree.change(self.path, DEVICE, {"Connected": Variant("b", True)})

    def resolve(self) -> None:
        """Show the services found, then say that all are."""
        handle = 1
        for service in services(self.probe):
            handle = self._show_service(service, handle)
        found = {"UUIDs": self._uuids(), "ServicesResolved": Variant("b", True)}
        self.tree.change(self.path, DEVICE, found)

    def link_down(self) -> None:
        """The link is gone, whoever ended it."""
        self.forget_link()
        if self.path in self.tree:
            self.tree.change(self.path, DEVICE, {"ServicesResolved": Variant("b", False)})
            for path in [p for p in self.tree.managed() if p.startswith(self.path + "/service")]:
                if path in self.tree:
                    self.tree.remove(path)
            self.tree.change(self.path, DEVICE, {"Connected": Variant("b", False)})

    def forget_link(self) -> None:
        """Drop the link's state and tell nobody."""
        self.is_connected = False
        self.is_heard = False
        self.notifying.clear()
        self.characteristics.clear()
        self.labels.clear()

    def appear_connected(self) -> None:
        """Be known and connected without ever having been heard."""
        if self.path not in self.tree:
            self.tree.add(self.path, DEVICE, self._identity())
        if not self.is_connected:
            self.link_up()
            self.resolve()

    def subscribe(self, path: str, client: str) -> None:
        """Push values on ``path`` for as long as any client asks."""
        self.notifying.setdefault(path, set()).add(client)
        self.tree.change(path, GATT_CHARACTERISTIC, {"Notifying": Variant("b", True)})

    def unsubscribe(self, path: str, client: str) -> None:
        """One client asks no more."""
        clients = self.notifying.get(path, set())
        clients.discard(client)
        if path in self.notifying and not clients:
            del self.notifying[path]
            self.tree.change(path, GATT_CHARACTERISTIC, {"Notifying": Variant("b", False)})

    def _identity(self) -> dict[str, Variant]:
        return {
            "Address": Variant("s", self.probe.address),
            "AddressType": Variant("s", "public"),
            "Name": Variant("s", self.probe.name),
            "Alias": Variant("s", self.probe.name),
            "Adapter": Variant("o", self.path.rpartition("/")[0]),
            "Paired": Variant("b", False),
            "Trusted": Variant("b", False),
            "Connected": Variant("b", False),
            "ServicesResolved": Variant("b", False),
        }

    def _advert(self, data: Mapping[str, bytes] | None) -> dict[str, Variant]:
        fields = self.measured if data is None else data
        rssi = self.probe.rssi_dbm + _RSSI_WANDER[self.adverts % len(_RSSI_WANDER)]
        properties = {"RSSI": Variant("n", rssi), "UUIDs": self._uuids()}
        if fields:
            carried = {uuid: Variant("ay", packet) for uuid, packet in fields.items()}
            properties["ServiceData"] = Variant("a{sv}", carried)
        return properties

    def _uuids(self) -> Variant:
        return Variant("as", [service.uuid for service in services(self.probe)])

    def _has_changed(self, properties: dict[str, Variant]) -> bool:
        known = (self.tree.interfaces(self.path) or {})[DEVICE]
        return properties.get("ServiceData") != known.get("ServiceData")

    def _show_service(self, service: Service, handle: int) -> int:
        path = f"{self.path}/service{handle:04x}"
        properties = {
            "UUID": Variant("s", service.uuid),
            "Device": Variant("o", self.path),
            "Primary": Variant("b", True),
        }
        self.tree.add(path, GATT_SERVICE, properties)
        handle += 1
        for characteristic in service.characteristics:
            handle = self._show_characteristic(path, characteristic, handle)
        return handle

    def _show_characteristic(
        self, service: str, characteristic: Characteristic, handle: int
    ) -> int:
        path = f"{service}/char{handle:04x}"
        properties = {
            "UUID": Variant("s", characteristic.uuid),
            "Service": Variant("o", service),
            "Flags": Variant("as", list(characteristic.flags)),
            "Notifying": Variant("b", False),
            "MTU": Variant("q", 23),
        }
        self.tree.add(path, GATT_CHARACTERISTIC, properties)
        self.characteristics[path] = characteristic
        handle += 2  # the declaration and the value have a handle each
        if characteristic.is_pushed:
            handle = self._show_descriptor(path, CLIENT_CONFIGURATION, b"\x00\x00", handle)
        if characteristic.label is not None:
            text = characteristic.label.encode()
            handle = self._show_descriptor(path, USER_DESCRIPTION, text, handle)
        return handle

    def _show_descriptor(self, owner: str, uuid: str, value: bytes, handle: int) -> int:
        path = f"{owner}/desc{handle:04x}"
        properties = {"UUID": Variant("s", uuid), "Characteristic": Variant("o", owner)}
        self.tree.add(path, GATT_DESCRIPTOR, properties)
        self.labels[path] = value
        return handle + 1

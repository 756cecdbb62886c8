"""Which heard devices are probes, and how each is to be read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pullcall.sources.bluetooth.options import BluetoothOptions
from pullcall.sources.decoding import BthomeDecoder, Refusal, Temperature
from pullcall.sources.decoding.bthome import BTHOME_SERVICE, is_encrypted
from pullcall.sources.decoding.characteristics import (
    COOKWARE,
    ENVIRONMENTAL_SENSING,
    HEALTH_THERMOMETER,
)
from pullcall.sources.layout import Layout, decode


def full_uuid(number: int) -> str:
    """The full form of a Bluetooth SIG 16-bit number."""
    return f"0000{number:04x}-0000-1000-8000-00805f9b34fb"


#: Services worth a connection, with the name people see.
SERVICES: Mapping[str, str] = {
    full_uuid(HEALTH_THERMOMETER): "Health Thermometer",
    full_uuid(ENVIRONMENTAL_SENSING): "Environmental Sensing",
    full_uuid(COOKWARE): "Cookware",
}
#: Generic services that every connected device has, so that orphans are found without a list.
_GENERIC = (full_uuid(0x1800), full_uuid(0x1801))


@dataclass(frozen=True, slots=True)
class Advert:
    """What one advert says. UUIDs are in their full, lower-case form."""

    address: str
    name: str
    services: frozenset[str]
    service_data: Mapping[str, bytes]
    manufacturer_data: Mapping[int, bytes]
    rssi_dbm: int | None = None


@dataclass(frozen=True, slots=True)
class Recognised:
    """How to read a device: over a connection or from its adverts, with a layout or without."""

    standard: str
    connects: bool
    layout: Layout | None = None


@dataclass(frozen=True, slots=True)
class AdvertValues:
    """Temperatures of one advert by channel number.

    ``packet_id`` as in BTHome; None also where a cipher's counter has proved that it is new.
    """

    temperatures: Mapping[int, Temperature]
    battery_percent: int | None = None
    packet_id: int | None = None


def recognise(advert: Advert, options: BluetoothOptions) -> Recognised | None:
    """Say how to read a device, or None where it is no probe or is not wanted.

    A declared layout goes before the standards, a connection before an advert.
    """
    wanted = {address.upper() for address in options.only}
    if wanted and advert.address.upper() not in wanted:
        return None
    for layout in options.layouts:
        if layout.device.matches(advert.address, advert.name, advert.services):
            connects = layout.where.characteristic is not None
            return Recognised(layout.name, connects, layout)
    for service, name in SERVICES.items():
        if service in advert.services:
            return Recognised(name, connects=True)
    if full_uuid(BTHOME_SERVICE) in advert.service_data:
        return Recognised("BTHome", connects=False)
    return None


def services_to_adopt(options: BluetoothOptions) -> list[str]:
    """Services by which devices that are already connected are asked for."""
    declared = (layout.device.service for layout in options.layouts)
    return [*SERVICES, *(service for service in declared if service), *_GENERIC]


class AdvertReader:
    """Reads the temperatures that adverts carry."""

    def __init__(self, options: BluetoothOptions) -> None:
        self._bthome = BthomeDecoder(options.bthome_keys)

    def data_of(self, advert: Advert, how: Recognised) -> bytes | None:
        """The bytes of this advert that matter, or None where it has none of them."""
        if how.layout is None:
            return advert.service_data.get(full_uuid(BTHOME_SERVICE))
        where = how.layout.where
        if where.service_data is not None:
            return advert.service_data.get(where.service_data)
        company = where.manufacturer_data
        return None if company is None else advert.manufacturer_data.get(company)

    def read(self, address: str, data: bytes, how: Recognised) -> AdvertValues | Refusal:
        """Read those bytes."""
        if how.layout is not None:
            return _by_layout(how.layout, data)
        found = self._bthome.decode(address, data)
        if isinstance(found, Refusal):
            return found
        numbered = dict(enumerate(found.temperatures, start=1))
        packet_id = None if is_encrypted(data) else found.packet_id
        return AdvertValues(numbered, found.battery_percent, packet_id)


def _by_layout(layout: Layout, data: bytes) -> AdvertValues | Refusal:
    values = decode(layout, data)
    if isinstance(values, Refusal):
        return values
    return AdvertValues({value.field.channel: value.temperature for value in values})

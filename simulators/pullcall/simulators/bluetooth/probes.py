"""Virtual probes: what each one is, and the services and bytes that its standard gives it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from pullcall.simulators.bluetooth import encoding

Values = Mapping[str, float | None]


class Standard(StrEnum):
    """How a probe speaks."""

    HEALTH_THERMOMETER = "health_thermometer"
    ENVIRONMENTAL_SENSING = "environmental_sensing"
    COOKWARE = "cookware"
    BTHOME = "bthome"
    DECLARED = "declared"


def short_uuid(number: int) -> str:
    """The full form of a Bluetooth SIG 16-bit number."""
    return f"0000{number:04x}-0000-1000-8000-00805f9b34fb"


HEALTH_SERVICE = short_uuid(0x1809)
HEALTH_MEASUREMENT = short_uuid(0x2A1C)
HEALTH_INTERMEDIATE = short_uuid(0x2A1E)
ENVIRONMENT_SERVICE = short_uuid(0x181A)
ENVIRONMENT_TEMPERATURE = short_uuid(0x2A6E)
COOKWARE_SERVICE = short_uuid(0x185D)
COOKING_TEMPERATURE = short_uuid(0x2C2E)
BATTERY_SERVICE = short_uuid(0x180F)
BATTERY_LEVEL = short_uuid(0x2A19)
USER_DESCRIPTION = short_uuid(0x2901)
CLIENT_CONFIGURATION = short_uuid(0x2902)
BTHOME_SERVICE = short_uuid(0xFCD2)
#: A random number of our own: no standard names it, so only a declared layout can read it.
DECLARED_SERVICE = "6d1b5a70-3f0e-4c86-9a1d-2f1c7e5d4b01"
DECLARED_CHARACTERISTIC = "6d1b5a70-3f0e-4c86-9a1d-2f1c7e5d4b02"


@dataclass(frozen=True, slots=True)
class Probe:
    """One virtual device. ``channels`` are its sensors, ``interval_s`` the time between values.

    ``key`` (32 hex digits) encrypts BTHome adverts; ``fahrenheit`` is for the Health Thermometer;
    ``rise_c`` is what each measurement adds, so that every value tells which one it is.
    """

    address: str
    name: str
    standard: Standard
    channels: tuple[str, ...] = ("1",)
    interval_s: float = 1.0
    advertise_s: float = 0.25
    start_c: float | None = 20.0
    rise_c: float = 0.0
    battery_percent: int = 87
    rssi_dbm: int = -60
    fahrenheit: bool = False
    key: str | None = None

    @property
    def is_connectable(self) -> bool:
        """Whether values come over a link; otherwise they are in the adverts."""
        return self.standard is not Standard.BTHOME


@dataclass(frozen=True, slots=True)
class Characteristic:
    """One characteristic: its flags, the bytes it holds for given values, its label if any."""

    uuid: str
    flags: tuple[str, ...]
    encode: Callable[[Values], bytes]
    label: str | None = None

    @property
    def is_pushed(self) -> bool:
        """Whether values arrive by themselves once asked for."""
        return "notify" in self.flags or "indicate" in self.flags


@dataclass(frozen=True, slots=True)
class Service:
    """One service and its characteristics, in handle order."""

    uuid: str
    characteristics: tuple[Characteristic, ...]


def services(probe: Probe) -> tuple[Service, ...]:
    """The services a client finds once connected; empty for an advertiser."""
    build = _SERVICES.get(probe.standard)
    if build is None:
        return ()
    level = encoding.battery_level(probe.battery_percent)
    battery = Characteristic(BATTERY_LEVEL, ("read", "notify"), lambda _values: level)
    return (build(probe), Service(BATTERY_SERVICE, (battery,)))


def service_data(probe: Probe, values: Values, count: int) -> dict[str, bytes]:
    """The service data of an advert; ``count`` numbers the measurement."""
    if probe.standard is not Standard.BTHOME:
        return {}
    celsius = [values[channel] for channel in probe.channels]
    if probe.key is None:
        packet = encoding.bthome_plain(celsius, count, probe.battery_percent)
    else:
        key = bytes.fromhex(probe.key)
        packet = encoding.bthome_sealed(celsius, key, probe.address, count, probe.battery_percent)
    return {BTHOME_SERVICE: packet}


def _health_thermometer(probe: Probe) -> Service:
    channel, fahrenheit = probe.channels[0], probe.fahrenheit

    def encode(values: Values) -> bytes:
        return encoding.health_temperature(values[channel], fahrenheit=fahrenheit)

    return Service(
        HEALTH_SERVICE,
        (
            Characteristic(HEALTH_MEASUREMENT, ("indicate",), encode),
            Characteristic(HEALTH_INTERMEDIATE, ("notify",), encode),
        ),
    )


def _environmental_sensing(probe: Probe) -> Service:
    return _one_characteristic_each(
        probe, ENVIRONMENT_SERVICE, ENVIRONMENT_TEMPERATURE, encoding.environment_temperature
    )


def _cookware(probe: Probe) -> Service:
    return _one_characteristic_each(
        probe, COOKWARE_SERVICE, COOKING_TEMPERATURE, encoding.cooking_temperature
    )


def _one_characteristic_each(
    probe: Probe, service: str, uuid: str, encode: Callable[[float | None], bytes]
) -> Service:
    """Several sensors are several of the same characteristic, told apart by their labels."""

    def one(channel: str) -> Characteristic:
        return Characteristic(
            uuid, ("read", "notify"), lambda values: encode(values[channel]), f"Probe {channel}"
        )

    return Service(service, tuple(one(channel) for channel in probe.channels))


def _declared(probe: Probe) -> Service:
    def encode(values: Values) -> bytes:
        celsius = [values[channel] for channel in probe.channels]
        return encoding.declared_packet(celsius, probe.battery_percent)

    characteristic = Characteristic(DECLARED_CHARACTERISTIC, ("read", "notify"), encode)
    return Service(DECLARED_SERVICE, (characteristic,))


_SERVICES: dict[Standard, Callable[[Probe], Service]] = {
    Standard.HEALTH_THERMOMETER: _health_thermometer,
    Standard.ENVIRONMENTAL_SENSING: _environmental_sensing,
    Standard.COOKWARE: _cookware,
    Standard.DECLARED: _declared,
}

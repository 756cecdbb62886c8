"""What to subscribe to in a connected device, and which channel each value belongs to."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from pullcall.sources.bluetooth.recognise import SERVICES, full_uuid
from pullcall.sources.decoding import DECODERS, Refusal, Temperature
from pullcall.sources.decoding.characteristics import (
    BATTERY_LEVEL,
    INTERMEDIATE_TEMPERATURE,
    TEMPERATURE_MEASUREMENT,
)
from pullcall.sources.layout import Layout, decode

Read = Callable[[bytes], Mapping[int, Temperature] | Refusal]

_HEALTH = frozenset({full_uuid(TEMPERATURE_MEASUREMENT), full_uuid(INTERMEDIATE_TEMPERATURE)})
_DECODERS = {full_uuid(number): decoder for number, decoder in DECODERS.items()}
_BATTERY = full_uuid(BATTERY_LEVEL)


@dataclass(frozen=True, slots=True)
class Found:
    """One characteristic of a connected device. UUIDs in their full, lower-case form."""

    handle: int
    uuid: str
    service_handle: int
    service: str
    properties: frozenset[str]

    @property
    def is_pushed(self) -> bool:
        """Whether its values arrive by themselves once subscribed to."""
        return bool(self.properties & {"notify", "indicate"})

    @property
    def is_readable(self) -> bool:
        """Whether its value can be asked for."""
        return "read" in self.properties


@dataclass(frozen=True, slots=True)
class Subscription:
    """A characteristic, how to read its values, and the channels they may be for."""

    found: Found
    read: Read
    channels: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class Plan:
    """What to subscribe to; ``channels`` is each channel's number and standard."""

    subscriptions: tuple[Subscription, ...]
    battery: Found | None

    @property
    def channels(self) -> Mapping[int, str]:
        """Every channel's number and the name of its standard."""
        return {n: name for one in self.subscriptions for n, name in one.channels.items()}


@dataclass(frozen=True, slots=True)
class Missing:
    """The device has nothing that can be read as asked; ``reason`` lists what it has."""

    reason: str


def plan(characteristics: Sequence[Found], layout: Layout | None) -> Plan | Missing:
    """Choose what to subscribe to. Channels are numbered from 1 in the order of handles."""
    ordered = sorted(characteristics, key=lambda found: found.handle)
    usable = [found for found in ordered if found.is_pushed or found.is_readable]
    if layout is None:
        chosen, wanted = _by_standard(usable), "no temperature of a known standard"
    else:
        chosen, wanted = _by_layout(usable, layout), f"no {layout.where.characteristic}"
    if not chosen:
        return Missing(f"{wanted}; found {_listed(ordered)}")
    return Plan(chosen, next((found for found in usable if found.uuid == _BATTERY), None))


def _by_layout(usable: Sequence[Found], layout: Layout) -> tuple[Subscription, ...]:
    def read(packet: bytes) -> Mapping[int, Temperature] | Refusal:
        values = decode(layout, packet)
        if isinstance(values, Refusal):
            return values
        return {value.field.channel: value.temperature for value in values}

    channels = {field.channel: layout.name for field in layout.field}
    found = (one for one in usable if one.uuid == layout.where.characteristic)
    return tuple(Subscription(one, read, channels) for one in list(found)[:1])


def _by_standard(usable: Sequence[Found]) -> tuple[Subscription, ...]:
    chosen: list[Subscription] = []
    numbers: dict[tuple[int, int], int] = {}
    for found in usable:
        decoder = _DECODERS.get(found.uuid)
        if decoder is None or found.service not in SERVICES:
            continue
        number = numbers.setdefault(_sensor(found), len(numbers) + 1)
        read = _numbered(decoder, number)
        chosen.append(Subscription(found, read, {number: SERVICES[found.service]}))
    return tuple(chosen)


def _sensor(found: Found) -> tuple[int, int]:
    """Name the sensor: both characteristics of one health thermometer speak of the same."""
    return (found.service_handle, 0 if found.uuid in _HEALTH else found.handle)


def _numbered(decoder: Callable[[bytes], Temperature | Refusal], number: int) -> Read:
    def read(packet: bytes) -> Mapping[int, Temperature] | Refusal:
        value = decoder(packet)
        return value if isinstance(value, Refusal) else {number: value}

    return read


def _listed(found: Sequence[Found]) -> str:
    names = sorted({_short(one.uuid) for one in found})
    return ", ".join(names) or "nothing at all"


def _short(uuid: str) -> str:
    is_assigned = uuid.startswith("0000") and uuid.endswith("-0000-1000-8000-00805f9b34fb")
    return uuid[4:8] if is_assigned else uuid

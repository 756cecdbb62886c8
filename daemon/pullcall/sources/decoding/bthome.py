"""BTHome version 2 adverts, plain and encrypted. Source: the public BTHome v2 format page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from pullcall.sources.decoding.bthome_cipher import CipherGate
from pullcall.sources.decoding.value import Refusal, Temperature, judge

#: The 16-bit service whose data a BTHome advert carries.
BTHOME_SERVICE = 0xFCD2
_ENCRYPTED = 0x01
_VERSION = 2

_PACKET_ID, _BATTERY = 0x00, 0x01


def _signed(data: bytes) -> int:
    return int.from_bytes(data, "little", signed=True)


#: Object id to Celsius. The format has no marker for "unknown", hence the range check.
_TEMPERATURES: Mapping[int, Callable[[bytes], float]] = MappingProxyType(
    {
        0x02: lambda data: _signed(data) / 100.0,
        0x45: lambda data: _signed(data) / 10.0,
        0x57: lambda data: float(_signed(data)),
        0x58: lambda data: _signed(data) * 35 / 100.0,
    }
)


def _lengths() -> dict[int, int]:
    by_length = {
        1: "00 01 09 0f 10 11 3a 46 57 58 59 60 64 65",
        2: "02 03 06 07 08 0c 0d 0e 12 13 14 3c 3d 3f 40 41 43 44 45 47 48 49 4a 51 52 56 5a 5d 5e"
        "5f 61 f0",
        3: "04 05 0a 0b 42 4b f2",
        4: "3e 4c 4d 4e 4f 50 55 5b 5c 62 63 f1",
    }
    lengths = {kind: length for length, kinds in by_length.items() for kind in bytes.fromhex(kinds)}
    return lengths | dict.fromkeys(range(0x15, 0x30), 1)


#: Value length of each object in bytes, so that those of no use here can be skipped.
OBJECT_BYTES: Mapping[int, int] = MappingProxyType(_lengths())
#: Temperatures of one advert, at most: each is a channel that people see.
_MOST_TEMPERATURES = 16
#: Text and raw objects carry their own length byte.
_COUNTED = frozenset({0x53, 0x54})


@dataclass(frozen=True, slots=True)
class BthomeAdvert:
    """One advert: temperatures in the order of their objects (equal ids are several sensors).

    ``packet_id`` changes with each new measurement (None: not sent; for an encrypted advert
    it is the counter). ``unread`` is the id of the unknown object where reading stopped.
    """

    temperatures: tuple[Temperature, ...]
    battery_percent: int | None = None
    packet_id: int | None = None
    unread: int | None = None


class BthomeDecoder:
    """Reads adverts of many devices; holds their keys and the counters already seen."""

    def __init__(self, keys: Mapping[str, bytes] = MappingProxyType({})) -> None:
        self._gate = CipherGate(keys)

    def decode(self, address: str, data: bytes) -> BthomeAdvert | Refusal:
        """Read the service data of one advert from ``address`` (``AA:BB:CC:DD:EE:FF``)."""
        if not data:
            return Refusal("too short: an empty BTHome advert")
        if data[0] >> 5 != _VERSION:
            return Refusal(f"BTHome version {data[0] >> 5}, and only version 2 is read")
        if not is_encrypted(data):
            if self._gate.expects(address):
                return Refusal("not encrypted, though it has a key here: remove the key to use it")
            return decode_objects(data[1:])
        opened = self._gate.open(address, data)
        if isinstance(opened, Refusal):
            return opened
        return decode_objects(opened.objects, opened.counter)


def is_encrypted(data: bytes) -> bool:
    """Whether service data (not empty) has to be opened with a key."""
    return bool(data[0] & _ENCRYPTED)


def decode_objects(objects: bytes, counter: int | None = None) -> BthomeAdvert | Refusal:
    """Read the objects that follow the info byte (or were decrypted)."""
    found: list[Temperature] = []
    battery: int | None = None
    packet_id: int | None = None
    unread: int | None = None
    at = 0
    while at < len(objects):
        kind, start = objects[at], at + 1
        length = _object_length(objects, at)
        if length is None:
            unread = kind
            break
        value = objects[start : start + length]
        if len(value) < length:
            return Refusal(f"cut off within object 0x{kind:02x}")
        if kind in _TEMPERATURES:
            if len(found) == _MOST_TEMPERATURES:
                return Refusal(f"more than {_MOST_TEMPERATURES} temperatures in one advert")
            found.append(judge(_TEMPERATURES[kind](value)))
        elif kind == _PACKET_ID:
            packet_id = value[0]
        elif kind == _BATTERY and value[0] <= 100:
            battery = value[0]
        at = start + length
    return BthomeAdvert(tuple(found), battery, packet_id if counter is None else counter, unread)


def _object_length(objects: bytes, at: int) -> int | None:
    kind = objects[at]
    if kind in _COUNTED:
        # The length byte belongs to the value; without it the object is cut off.
        return 1 + objects[at + 1] if at + 1 < len(objects) else 1
    return OBJECT_BYTES.get(kind)

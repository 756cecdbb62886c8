"""Temperatures as probes put them on the air.

Written from the standards alone, apart from the code that reads them, so that a shared mistake
cannot hide. ``None`` is an unplugged probe: each standard's own "no reading" value.
Sources: Bluetooth SIG GATT Specification Supplement (characteristics), the public BTHome v2
format page (adverts).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from cryptography.hazmat.primitives.ciphers.aead import AESCCM

#: IEEE 11073-20601 FLOAT "not a number": mantissa 0x7FFFFF, exponent 0.
_FLOAT_NAN = bytes.fromhex("ffff7f00")
#: sint16 "value is not known", for Temperature and Cooking Temperature.
_SINT16_UNKNOWN = -0x8000

_FLAG_FAHRENHEIT = 0x01
_FLAG_TIME = 0x02
_FLAG_TYPE = 0x04

_BTHOME_PLAIN = 0x40
_BTHOME_ENCRYPTED = 0x41
_BTHOME_UUID_ON_AIR = bytes.fromhex("d2fc")
_BTHOME_TAG_BYTES = 4


def medical_float(value: float | None, exponent: int = -2) -> bytes:
    """Four bytes: 24-bit signed mantissa, then a signed power of ten."""
    if value is None:
        return _FLOAT_NAN
    mantissa = round(value * 10.0**-exponent)
    return mantissa.to_bytes(3, "little", signed=True) + exponent.to_bytes(1, "little", signed=True)


def health_temperature(
    celsius: float | None,
    *,
    fahrenheit: bool = False,
    exponent: int = -2,
    taken: datetime | None = None,
    site: int | None = None,
) -> bytes:
    """Temperature Measurement 0x2A1C and Intermediate Temperature 0x2A1E.

    ``taken`` adds the seven-byte time stamp, ``site`` the temperature type.
    """
    flags = _FLAG_FAHRENHEIT * fahrenheit
    flags |= _FLAG_TIME * (taken is not None) | _FLAG_TYPE * (site is not None)
    value = celsius * 1.8 + 32.0 if fahrenheit and celsius is not None else celsius
    packet = bytes([flags]) + medical_float(value, exponent)
    if taken is not None:
        packet += taken.year.to_bytes(2, "little")
        packet += bytes([taken.month, taken.day, taken.hour, taken.minute, taken.second])
    return packet if site is None else packet + bytes([site])


def environment_temperature(celsius: float | None) -> bytes:
    """Temperature 0x2A6E: sint16, 0.01 C, from -273.15 C to 327.67 C."""
    return _sint16(celsius, 100.0)


def cooking_temperature(celsius: float | None) -> bytes:
    """Cooking Temperature 0x2C2E: sint16, 0.1 C."""
    return _sint16(celsius, 10.0)


def battery_level(percent: int) -> bytes:
    """Battery Level 0x2A19: one byte, percent."""
    return bytes([percent])


def bthome_plain(
    celsius: Sequence[float | None], packet_id: int | None = None, battery: int | None = None
) -> bytes:
    """BTHome v2 service data: packet id, battery, then one 0.01 C temperature per channel."""
    return bytes([_BTHOME_PLAIN]) + _bthome_objects(celsius, packet_id, battery)


def bthome_encrypted(objects: bytes, key: bytes, address: str, counter: int) -> bytes:
    """BTHome v2 service data with ``objects`` under AES-CCM (16-byte key, 32-bit counter)."""
    info = bytes([_BTHOME_ENCRYPTED])
    count = counter.to_bytes(4, "little")
    nonce = bytes.fromhex(address.replace(":", "")) + _BTHOME_UUID_ON_AIR + info + count
    sealed = AESCCM(key, tag_length=_BTHOME_TAG_BYTES).encrypt(nonce, objects, None)
    return info + sealed[:-_BTHOME_TAG_BYTES] + count + sealed[-_BTHOME_TAG_BYTES:]


def bthome_sealed(
    celsius: Sequence[float | None],
    key: bytes,
    address: str,
    counter: int,
    battery: int | None = None,
) -> bytes:
    """What :func:`bthome_plain` says, encrypted; the counter stands for the packet id."""
    return bthome_encrypted(_bthome_objects(celsius, None, battery), key, address, counter)


def declared_packet(celsius: Sequence[float | None], battery: int) -> bytes:
    """A private layout of our own: battery percent, then per channel uint16 tenths of C above -40.

    0xFFFF is an unplugged channel.
    """
    packet = bytes([battery])
    for value in celsius:
        raw = 0xFFFF if value is None else round((value + 40.0) * 10.0)
        packet += raw.to_bytes(2, "little")
    return packet


def _bthome_objects(
    celsius: Sequence[float | None], packet_id: int | None, battery: int | None
) -> bytes:
    packet = b"" if packet_id is None else bytes([0x00, packet_id & 0xFF])
    packet += b"" if battery is None else bytes([0x01, battery])
    # BTHome has no "unknown": sensors send the lowest raw value, outside any sane range.
    return packet + b"".join(bytes([0x02]) + _sint16(value, 100.0) for value in celsius)


def _sint16(celsius: float | None, per_degree: float) -> bytes:
    raw = _SINT16_UNKNOWN if celsius is None else round(celsius * per_degree)
    # A sensor pegs at the ends of its range; it does not wrap.
    raw = _SINT16_UNKNOWN if celsius is None else max(-0x7FFF, min(0x7FFF, raw))
    return raw.to_bytes(2, "little", signed=True)

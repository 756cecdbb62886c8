"""Values of the standard characteristics.

Source of every format: Bluetooth SIG GATT Specification Supplement and Assigned Numbers.
All fields are little-endian.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from pullcall.degrees import fahrenheit_to_celsius
from pullcall.sources.decoding.medfloat import medfloat32
from pullcall.sources.decoding.value import (
    NO_READING,
    PLAUSIBLE_C,
    Refusal,
    Temperature,
    judge,
)

HEALTH_THERMOMETER = 0x1809
ENVIRONMENTAL_SENSING = 0x181A
COOKWARE = 0x185D
BATTERY = 0x180F

TEMPERATURE_MEASUREMENT = 0x2A1C
INTERMEDIATE_TEMPERATURE = 0x2A1E
TEMPERATURE = 0x2A6E
COOKING_TEMPERATURE = 0x2C2E
BATTERY_LEVEL = 0x2A19

_FAHRENHEIT, _TIME, _TYPE = 0x01, 0x02, 0x04
_HEALTH_BYTES = 5
_TIME_BYTES, _TYPE_BYTES = 7, 1
_UNKNOWN_S16 = -0x8000
#: The range the standard gives Cooking Temperature, in Celsius.
_COOKING_C = (-100.0, 1000.0)
_FULL_PERCENT = 100


def decode_health_temperature(data: bytes) -> Temperature | Refusal:
    """Read Temperature Measurement (0x2A1C) or Intermediate Temperature (0x2A1E).

    Flags, a FLOAT in Celsius or Fahrenheit, then a time and a type where the flags promise
    them; both are skipped, for the time of a reading is taken from the daemon's own clock.
    """
    flags = data[0] if data else 0
    needed = _HEALTH_BYTES + (_TIME_BYTES if flags & _TIME else 0)
    needed += _TYPE_BYTES if flags & _TYPE else 0
    if len(data) < needed:
        return _too_short(data, needed)
    number = medfloat32(int.from_bytes(data[1:5], "little"))
    if number is None:
        return NO_READING
    return judge(fahrenheit_to_celsius(number) if flags & _FAHRENHEIT else number)


def decode_environment_temperature(data: bytes) -> Temperature | Refusal:
    """Read Temperature (0x2A6E): signed, 0.01 C, 0x8000 unknown."""
    return _hundredths_or_tenths(data, 100.0, PLAUSIBLE_C)


def decode_cooking_temperature(data: bytes) -> Temperature | Refusal:
    """Read Cooking Temperature (0x2C2E): signed, 0.1 C, -100 to 1000 C, 0x8000 unknown."""
    low, high = max(_COOKING_C[0], PLAUSIBLE_C[0]), min(_COOKING_C[1], PLAUSIBLE_C[1])
    return _hundredths_or_tenths(data, 10.0, (low, high))


def decode_battery(data: bytes) -> int | Refusal:
    """Read Battery Level (0x2A19), percent."""
    if len(data) != 1:
        return Refusal(f"a battery level is 1 byte long, not {len(data)}")
    if data[0] > _FULL_PERCENT:
        return Refusal(f"a battery level of {data[0]} % is not possible")
    return data[0]


def _hundredths_or_tenths(
    data: bytes, parts: float, limits: tuple[float, float]
) -> Temperature | Refusal:
    if len(data) < 2:
        return _too_short(data, 2)
    if len(data) > 2:
        return Refusal(f"{len(data)} bytes where this characteristic has 2")
    raw = int.from_bytes(data, "little", signed=True)
    return NO_READING if raw == _UNKNOWN_S16 else judge(raw / parts, *limits)


def _too_short(data: bytes, needed: int) -> Refusal:
    return Refusal(f"too short: {len(data)} of {needed} bytes")


#: Assigned number of a characteristic to its decoder.
DECODERS: Mapping[int, Callable[[bytes], Temperature | Refusal]] = MappingProxyType(
    {
        TEMPERATURE_MEASUREMENT: decode_health_temperature,
        INTERMEDIATE_TEMPERATURE: decode_health_temperature,
        TEMPERATURE: decode_environment_temperature,
        COOKING_TEMPERATURE: decode_cooking_temperature,
    }
)

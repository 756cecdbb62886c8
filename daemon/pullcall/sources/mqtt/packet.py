"""What one message of a gateway says. Nothing here raises on any bytes."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NoReturn

from pullcall.degrees import fahrenheit_to_celsius
from pullcall.sources.decoding import Refusal, Temperature, judge
from pullcall.sources.decoding.value import NO_READING, PLAUSIBLE_C
from pullcall.sources.layout import Layout, decode
from pullcall.sources.mqtt.numbers import number_of, shown
from pullcall.sources.mqtt.options import GatewayProbe
from pullcall.sources.mqtt.paths import compile_path

#: Bytes of a message that are read, at most: a list of some dozens of devices.
_LONGEST = 16 * 1024
#: Results of a path that are channels, at most.
MOST_CHANNELS = 16


@dataclass(frozen=True, slots=True)
class Packet:
    """Temperatures by channel number; ``refusals`` says what of it could not be read, and why."""

    temperatures: Mapping[int, Temperature] = field(default_factory=lambda: MappingProxyType({}))
    battery_percent: int | None = None
    refusals: tuple[str, ...] = ()


class PacketReader:
    """Reads what one declaration brings in."""

    def __init__(self, probe: GatewayProbe) -> None:
        self._layout = probe.layout
        self._paths = tuple(compile_path(path) for path in probe.paths)
        self._battery = compile_path(probe.battery) if probe.battery else None
        self._is_fahrenheit = probe.unit == "F"
        low, high = PLAUSIBLE_C if probe.range is None else map(self._celsius, probe.range)
        self._low, self._high = low, high

    def read(self, payload: bytes) -> Packet:
        """Read a message, or say why not."""
        if len(payload) > _LONGEST:
            return _refused(f"it has {len(payload)} bytes, and {_LONGEST} are read at most")
        try:
            return self._read(payload)
        except Exception as error:  # a stranger wrote it, and another one the code that reads it
            return _refused(f"it cannot be read ({type(error).__name__})")

    def _read(self, payload: bytes) -> Packet:
        if self._layout is not None:
            return _by_layout(self._layout, payload)
        if not self._paths:
            return self._packet({1: payload.decode("utf-8", "replace").strip()})
        try:
            document = json.loads(payload.decode("utf-8"), parse_constant=_no_number)
        except (ValueError, RecursionError):
            return _refused("it is not JSON, or nested too deep")
        return self._by_paths(document)

    def _by_paths(self, document: object) -> Packet:
        battery = self._battery_of(document)
        if len(self._paths) == 1:
            results = self._paths[0].results(document, MOST_CHANNELS + 1)
            if len(results) > MOST_CHANNELS:
                return _refused(f"its path finds more than {MOST_CHANNELS} values")
            found = dict(enumerate(results, start=1))
        else:
            # By its place in the list, so that one that is missing does not move the others.
            each = (path.results(document, 2) for path in self._paths)
            found = {n: _single(values) for n, values in enumerate(each, start=1) if values}
        if not found and battery is None:
            return _refused("it has nothing where its path looks")
        return self._packet(found, battery)

    def _packet(self, found: Mapping[int, object], battery: int | None = None) -> Packet:
        values = {number: self._temperature(value) for number, value in found.items()}
        return Packet(
            {n: value for n, value in values.items() if not isinstance(value, Refusal)},
            battery,
            tuple(
                f"channel {n} is {value.reason}"
                for n, value in values.items()
                if isinstance(value, Refusal)
            ),
        )

    def _temperature(self, value: object) -> Temperature | Refusal:
        if value is None:
            return NO_READING
        if isinstance(value, Refusal):
            return value
        number = number_of(value)
        if number is None:
            return Refusal(f"{shown(value)}, no number")
        return judge(self._celsius(number), self._low, self._high)

    def _celsius(self, value: float) -> float:
        return fahrenheit_to_celsius(value) if self._is_fahrenheit else value

    def _battery_of(self, document: object) -> int | None:
        """Battery is a comfort: what is no percentage is none."""
        results = self._battery.results(document, 1) if self._battery else []
        percent = number_of(results[0]) if results else None
        return round(percent) if percent is not None and 0.0 <= percent <= 100.0 else None


def _by_layout(layout: Layout, payload: bytes) -> Packet:
    values = decode(layout, payload)
    if isinstance(values, Refusal):
        return _refused(values.reason)
    return Packet({value.field.channel: value.temperature for value in values})


def _refused(reason: str) -> Packet:
    return Packet(refusals=(reason,))


def _single(values: list[object]) -> object:
    return values[0] if len(values) == 1 else Refusal("found several times")


def _no_number(text: str) -> NoReturn:
    raise ValueError(f"{text} is not JSON (RFC 8259)")

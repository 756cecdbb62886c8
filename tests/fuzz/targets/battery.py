"""Battery Level."""

from __future__ import annotations

from pullcall.simulators.bluetooth.encoding import battery_level
from pullcall.sources.decoding import Refusal, decode_battery
from tests.fuzz.target import Target


def check(data: bytes) -> None:
    """A packet; what it says is written back to the byte."""
    found = decode_battery(data)
    assert decode_battery(memoryview(data)) == found  # type: ignore[arg-type]
    if not isinstance(found, Refusal):
        assert 0 <= found <= 100
        assert battery_level(found) == data


TARGET = Target(check, (battery_level(80), b"\xff", b"\x64\x00"), longest=8, weight=0.2)

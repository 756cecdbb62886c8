"""Temperature Measurement and Intermediate Temperature of the Health Thermometer."""

from __future__ import annotations

from datetime import UTC, datetime

from pullcall.simulators.bluetooth.encoding import health_temperature
from pullcall.sources.decoding import Refusal, decode_health_temperature
from tests.fuzz.honest import check_temperature
from tests.fuzz.target import Target

_TAKEN = datetime(2026, 6, 13, 14, 3, 5, tzinfo=UTC)
#: An encoder writes hundredths; Fahrenheit on the way costs a little of that.
_STEP_C = 0.011


def check(data: bytes) -> None:
    """A packet."""
    found = decode_health_temperature(data)
    check_temperature(found)
    assert decode_health_temperature(memoryview(data)) == found  # type: ignore[arg-type]
    if isinstance(found, Refusal) or found.good is None:
        return
    for is_fahrenheit in (False, True):
        again = decode_health_temperature(health_temperature(found.good, fahrenheit=is_fahrenheit))
        assert not isinstance(again, Refusal) and again.celsius is not None
        assert abs(again.celsius - found.good) < _STEP_C


TARGET = Target(
    check,
    (
        health_temperature(54.34),
        health_temperature(54.34, fahrenheit=True, taken=_TAKEN, site=2),
        health_temperature(None),
        b"\x00\x01\x00\x00\x7f",
        b"\x01\xff\xff\x7f\x80",
        b"\x06\x00\x00\x80\x00",
    ),
    longest=32,
    weight=0.4,
)

"""Temperature of Environmental Sensing."""

from __future__ import annotations

from pullcall.simulators.bluetooth.encoding import environment_temperature
from pullcall.sources.decoding import Refusal, decode_environment_temperature
from tests.fuzz.honest import check_temperature
from tests.fuzz.target import Target


def check(data: bytes) -> None:
    """A packet; what it says is written back to the byte."""
    found = decode_environment_temperature(data)
    check_temperature(found)
    assert decode_environment_temperature(memoryview(data)) == found  # type: ignore[arg-type]
    if not isinstance(found, Refusal) and found.celsius is not None:
        assert environment_temperature(found.celsius) == data


TARGET = Target(
    check,
    (environment_temperature(54.34), environment_temperature(None), b"\x01"),
    longest=8,
    weight=0.2,
)

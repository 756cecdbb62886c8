"""Cooking Temperature of Cookware."""

from __future__ import annotations

from pullcall.simulators.bluetooth.encoding import cooking_temperature
from pullcall.sources.decoding import Refusal, decode_cooking_temperature
from tests.fuzz.honest import check_temperature
from tests.fuzz.target import Target


def check(data: bytes) -> None:
    """A packet; what it says is written back to the byte."""
    found = decode_cooking_temperature(data)
    check_temperature(found)
    assert decode_cooking_temperature(memoryview(data)) == found  # type: ignore[arg-type]
    if not isinstance(found, Refusal) and found.celsius is not None:
        assert cooking_temperature(found.celsius) == data


TARGET = Target(
    check, (cooking_temperature(54.3), cooking_temperature(None), b""), longest=8, weight=0.2
)

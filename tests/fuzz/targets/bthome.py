"""Adverts of BTHome version 2, plain."""

from __future__ import annotations

from pullcall.simulators.bluetooth.encoding import bthome_plain
from pullcall.sources.decoding import BthomeDecoder, Refusal
from tests.fuzz.honest import check_temperature, check_words
from tests.fuzz.target import Target

_ADDRESS = "AA:BB:CC:DD:EE:01"


def check(data: bytes) -> None:
    """The service data of one advert."""
    found = BthomeDecoder().decode(_ADDRESS, data)
    assert BthomeDecoder().decode(_ADDRESS, memoryview(data)) == found  # type: ignore[arg-type]
    if isinstance(found, Refusal):
        check_words(found.reason)
        return
    assert len(found.temperatures) <= len(data)
    assert found.battery_percent is None or 0 <= found.battery_percent <= 100
    assert found.packet_id is None or 0 <= found.packet_id <= 255
    for temperature in found.temperatures:
        check_temperature(temperature)
    if all(one.good is not None and abs(one.good) < 327 for one in found.temperatures):
        _write_again([one.good for one in found.temperatures])


def _write_again(celsius: list[float | None]) -> None:
    again = BthomeDecoder().decode(_ADDRESS, bthome_plain(celsius))
    assert not isinstance(again, Refusal)
    for one, before in zip(again.temperatures, celsius, strict=True):
        assert one.good is not None and before is not None
        assert abs(one.good - before) < 0.006


TARGET = Target(
    check,
    (
        bthome_plain([54.34, 260.0], packet_id=7, battery=80),
        bthome_plain([None]),
        b"\x40\x45\x1f\x02\x57\x36\x58\x10",
        b"\x40\x53\x03abc\x54\xff",
        b"\x40\xf2\x01\x02\x03\x02\x39\x15",
        b"\x20\x00",
        b"\x41" + bytes(16),
    ),
    longest=64,
)

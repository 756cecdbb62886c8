"""Packets read by declared layouts of every type of number."""

from __future__ import annotations

from pullcall.sources.decoding import Refusal
from pullcall.sources.layout import DeviceMatch, Field, Layout, Where, decode
from pullcall.sources.layout.numbers import NumberType
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_temperature, check_words
from tests.fuzz.target import Target

_RANGE = (-60.0, 800.0)
_SCALES = ((1.0, 0.0), (0.01, -40.0), (-0.5, 1e6), (1e306, -1e308))


def _layout(kind: NumberType, scale: float, add: float, unit: str) -> Layout:
    field = {"channel": 1, "offset": 2, "type": kind, "scale": scale, "add": add, "unit": unit,
             "invalid": (0xFFFF, -1), "range": _RANGE}  # fmt: skip
    return Layout(
        name="made up",
        device=DeviceMatch(name="*"),
        where=Where(manufacturer_data=1),
        field=(Field.model_validate(field), Field.model_validate(field | {"channel": 2})),
    )


_LAYOUTS = [
    _layout(kind, *scale, unit) for kind in NumberType for scale in _SCALES for unit in ("C", "F")
]


def check(data: bytes) -> None:
    """A packet by each number, factor and unit."""
    cards = Cards(data)
    layout, packet = cards.pick(_LAYOUTS), cards.rest()
    found = decode(layout, packet)
    assert decode(layout, memoryview(packet)) == found  # type: ignore[arg-type]
    if isinstance(found, Refusal):
        check_words(found.reason)
        return
    assert [value.field.channel for value in found] == [1, 2]
    for value in found:
        check_temperature(value.temperature)
        assert value.raw == packet[2 : value.field.end]


TARGET = Target(
    check,
    (b"\x00\x00\x00\x36", b"\x10\x00\x00\x0a\xff\x03", b"\x78\x00\x00\x3a\x15\x00\xfe", b"\x77"),
    longest=16,
)

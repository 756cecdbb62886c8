"""A packet against a layout, field by field."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pullcall.degrees import fahrenheit_to_celsius
from pullcall.sources.decoding.value import (
    NO_READING,
    Refusal,
    Temperature,
    Verdict,
)
from pullcall.sources.layout.model import Field, Layout
from pullcall.sources.layout.numbers import RawNumber


@dataclass(frozen=True, slots=True)
class FieldValue:
    """One field of one packet; ``value`` is in the field's own unit (None: no reading)."""

    field: Field
    raw: bytes
    number: RawNumber
    value: float | None
    temperature: Temperature


def decode(layout: Layout, packet: bytes) -> tuple[FieldValue, ...] | Refusal:
    """Read every field of ``packet``; a packet too short for one of them is refused."""
    last = max(layout.field, key=lambda field: field.end)
    if len(packet) < last.end:
        return Refusal(
            f"too short: {len(packet)} bytes, and channel {last.channel} needs {last.end}"
        )
    return tuple(_read(field, packet) for field in layout.field)


def _read(field: Field, packet: bytes) -> FieldValue:
    raw = packet[field.offset : field.end]
    number = field.type.read(raw)
    if number.number is None or _is_marked(field, number):
        return FieldValue(field, raw, number, None, NO_READING)
    value = number.number * field.scale + field.add
    if not math.isfinite(value):  # a scale that no number of this type was meant for
        return FieldValue(field, raw, number, None, NO_READING)
    celsius = fahrenheit_to_celsius(value) if field.unit == "F" else value
    inside = field.range[0] <= value <= field.range[1]
    verdict = Verdict.GOOD if inside else Verdict.OUT_OF_RANGE
    return FieldValue(field, raw, number, value, Temperature(celsius, verdict))


def _is_marked(field: Field, number: RawNumber) -> bool:
    # A marker may be written as the bits (0x8000) or as the number they make (-32768).
    return number.bits in field.invalid or number.number in field.invalid

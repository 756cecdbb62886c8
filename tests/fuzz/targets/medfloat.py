"""The 32-bit FLOAT."""

from __future__ import annotations

import math

from pullcall.simulators.bluetooth.encoding import medical_float
from pullcall.sources.decoding.medfloat import medfloat32
from tests.fuzz.target import Target


def check(data: bytes) -> None:
    """Four bytes; a number of hundredths is written back to the byte."""
    number = medfloat32(int.from_bytes(data[:4], "little"))
    if number is None:
        return
    assert math.isfinite(number)
    if len(data) >= 4 and data[3] == 0xFE:
        assert medical_float(number) == data[:4]


TARGET = Target(
    check,
    (b"\x3a\x15\x00\xfe", b"\xff\xff\x7f\x00", b"\xff\xff\x7f\x7f", b"\x00\x00\x80\x80"),
    longest=4,
    weight=0.2,
)

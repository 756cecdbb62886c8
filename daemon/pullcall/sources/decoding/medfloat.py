"""The 32-bit FLOAT of ISO/IEEE 11073-20601: a 24-bit mantissa and an 8-bit power of ten."""

from __future__ import annotations

#: Mantissas that, with exponent 0, carry no number: NaN, not at this resolution, plus and
#: minus infinity, reserved. Source: Bluetooth SIG GATT Specification Supplement, medfloat32.
SPECIAL_MANTISSAS = frozenset({0x7FFFFF, 0x800000, 0x7FFFFE, 0x800002, 0x800001})


def medfloat32(bits: int) -> float | None:
    """Return the number in 32 bits, or None for the special values.

    The top byte is the signed exponent, the rest the signed mantissa.
    """
    mantissa = bits & 0xFFFFFF
    exponent = _signed(bits >> 24 & 0xFF, 8)
    if exponent == 0 and mantissa in SPECIAL_MANTISSAS:
        return None
    number = _signed(mantissa, 24)
    # Dividing by an exact power rounds once, so that 5434e-2 is 54.34 and not its neighbour.
    return number / 10.0**-exponent if exponent < 0 else number * 10.0**exponent


def _signed(value: int, bits: int) -> int:
    return value - (1 << bits) if value >> (bits - 1) else value

"""The named number types a layout can use."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from pullcall.sources.decoding.medfloat import medfloat32


class NumberType(StrEnum):
    """How raw bytes are a number: sign, bits, byte order."""

    U8 = "u8"
    I8 = "i8"
    U16LE = "u16le"
    U16BE = "u16be"
    I16LE = "i16le"
    I16BE = "i16be"
    U24LE = "u24le"
    U24BE = "u24be"
    I24LE = "i24le"
    I24BE = "i24be"
    U32LE = "u32le"
    U32BE = "u32be"
    I32LE = "i32le"
    I32BE = "i32be"
    FLOAT11073 = "float11073"

    @property
    def width(self) -> int:
        """Bytes it takes."""
        return 4 if self is NumberType.FLOAT11073 else int(self.value[1:].rstrip("lbe")) // 8

    def read(self, raw: bytes) -> RawNumber:
        """Read ``raw``, which is exactly :attr:`width` bytes."""
        order = "big" if self.value.endswith("be") else "little"
        bits = int.from_bytes(raw, "big" if order == "big" else "little")
        if self is NumberType.FLOAT11073:
            return RawNumber(bits, medfloat32(bits))
        signed = self.value[0] == "i" and bits >> (8 * self.width - 1)
        return RawNumber(bits, float(bits - (1 << 8 * self.width) if signed else bits))


@dataclass(frozen=True, slots=True)
class RawNumber:
    """A number as sent: its bits, and its value (None for the marks of "no reading")."""

    bits: int
    number: float | None

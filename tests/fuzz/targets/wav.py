"""Sound as a program for speech writes it."""

from __future__ import annotations

import numpy as np

from pullcall.outlets.wav import RATE_HZ, from_wav, to_wav
from tests.fuzz.honest import check_words
from tests.fuzz.target import Target

#: Seconds of sound that a call's words can last, with much to spare.
_LONGEST_S = 600.0


def check(data: bytes) -> None:
    """A WAV file: what is read of it is written and read again as it was."""
    try:
        samples = from_wav(data)
    except ValueError as error:
        check_words(str(error))
        return
    assert len(samples) <= _LONGEST_S * RATE_HZ
    assert np.array_equal(from_wav(to_wav(samples)), samples)


def _at(rate: int) -> bytes:
    """Some samples with another rate in the header (offset 24 of the canonical form)."""
    whole = bytearray(to_wav(np.arange(300, dtype=np.int16)))
    whole[24:28] = rate.to_bytes(4, "little")
    return bytes(whole)


TARGET = Target(
    check,
    (_at(RATE_HZ), _at(16_000), _at(1), _at(2**32 - 1), to_wav(np.zeros(0, np.int16)), b"RIFF"),
    (
        b"RIFF",
        b"WAVE",
        b"fmt ",
        b"data",
        b"LIST",
        b"\x01\x00\x01\x00",
        b"\xfe\xff",
        b"\xff\xff\xff\xff",
    ),
    longest=800,
)

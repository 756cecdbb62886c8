"""Adverts of BTHome version 2, encrypted: nothing is believed that is no new advert of the key's
owner."""

from __future__ import annotations

from pullcall.simulators.bluetooth.encoding import bthome_encrypted, bthome_sealed
from pullcall.sources.decoding import BthomeDecoder, Refusal, decode_objects
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_words
from tests.fuzz.target import Target

_ADDRESS = "AA:BB:CC:DD:EE:01"
_KEY = bytes(range(16))


def check(data: bytes) -> None:
    """Bytes as they are; and the same sealed by the key's owner, then changed in one bit."""
    decoder = BthomeDecoder({_ADDRESS: _KEY})
    forged = decoder.decode(_ADDRESS, data)
    if isinstance(forged, Refusal):
        check_words(forged.reason)
    cards = Cards(data)
    counter = int.from_bytes(bytes(cards.byte() for _ in range(4)), "little")
    place, objects = cards.byte(), cards.rest()
    sealed = bthome_encrypted(objects, _KEY, _ADDRESS, counter)
    changed = bytearray(sealed)
    changed[place % len(sealed)] ^= 1 << place % 8
    fresh = BthomeDecoder({_ADDRESS.lower(): _KEY})
    assert isinstance(fresh.decode(_ADDRESS, bytes(changed)), Refusal)
    assert fresh.decode(_ADDRESS, sealed) == decode_objects(objects, counter)
    assert fresh.decode(_ADDRESS, sealed) == decode_objects(objects, counter)
    if 0 < counter < 0xFFFF0000:
        older = bthome_encrypted(objects, _KEY, _ADDRESS, counter - 1)
        assert isinstance(fresh.decode(_ADDRESS, older), Refusal)


TARGET = Target(
    check,
    (
        bthome_sealed([54.34], _KEY, _ADDRESS, 9),
        b"\x09\x00\x00\x00\x02\x02\x39\x15",
        b"\xff\xff\xff\xff\x00\x02\x39\x15\x01\x50",
        b"\x41",
    ),
    longest=64,
)

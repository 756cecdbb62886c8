"""Worked bytes: the public BTHome v2 format page and its published vectors."""

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESCCM
from hypothesis import given
from hypothesis import strategies as st

from pullcall.sources.decoding import BthomeAdvert, BthomeDecoder, Refusal, Verdict
from pullcall.sources.decoding.bthome import OBJECT_BYTES

DEVICE = "54:48:E6:8F:80:A5"
KEY = bytes.fromhex("231d39c1d7cc1ab1aee224cd096db932")
SEALED = bytes.fromhex("41 a4 72 66 c9 5f 73 00 11 22 33 78 23 72 14")


def read(packet: str) -> BthomeAdvert:
    decoded = BthomeDecoder().decode(DEVICE, bytes.fromhex(packet))
    assert isinstance(decoded, BthomeAdvert), decoded
    return decoded


def refusal(decoded: BthomeAdvert | Refusal) -> str:
    assert isinstance(decoded, Refusal), decoded
    return decoded.reason


def seal(objects: str, counter: int, key: bytes = KEY) -> bytes:
    """Encrypt as the format page describes, with another's cipher."""
    count = counter.to_bytes(4, "little")
    nonce = bytes.fromhex("5448E68F80A5") + b"\xd2\xfc\x41" + count
    sealed = AESCCM(key, tag_length=4).encrypt(nonce, bytes.fromhex(objects), None)
    return b"\x41" + sealed[:-4] + count + sealed[-4:]


# Source: public BTHome v2 format page (its first example), the rest computed by hand from it.
@pytest.mark.parametrize(
    ("packet", "temperatures", "battery", "packet_id"),
    [
        ("40 02ca09 03bf13", [25.06], None, None),
        ("44 002a 0161 021f0f 02ca13", [38.71, 50.66], 97, 42),
        ("40 0161 451401 450102 4502ff", [27.6, 51.3, -25.4], 97, None),
        ("40 57ea 58ea", [-22.0, -7.7], None, None),
    ],
)
def test_a_plain_advert_is_read_object_by_object(
    packet: str, temperatures: list[float], battery: int | None, packet_id: int | None
) -> None:
    advert = read(packet)
    assert [one.good for one in advert.temperatures] == pytest.approx(temperatures, abs=1e-9)
    assert (advert.battery_percent, advert.packet_id) == (battery, packet_id)


def test_a_value_that_means_broken_is_not_good() -> None:
    (broken,) = read("40 020080").temperatures
    assert broken.verdict is Verdict.OUT_OF_RANGE
    assert broken.good is None


def test_reading_stops_at_an_unknown_object_and_keeps_what_came_before() -> None:
    advert = read("40 02ca09 99 02ca09")
    assert len(advert.temperatures) == 1
    assert advert.unread == 0x99


def test_objects_of_no_use_here_are_skipped_by_their_length() -> None:
    assert [one.good for one in read("40 53 03 616263 02ca09").temperatures] == [25.06]


# Source: public BTHome v2 format page, the table of objects (spot checks of three lengths).
def test_object_lengths_are_those_of_the_format() -> None:
    assert (OBJECT_BYTES[0x05], OBJECT_BYTES[0x15], OBJECT_BYTES[0x3E]) == (3, 1, 4)
    assert 0x53 not in OBJECT_BYTES


@pytest.mark.parametrize(
    ("packet", "words"),
    [
        ("", "empty"),
        ("20 02ca09", "version 1"),
        ("40 02ca", "cut off within object 0x02"),
        ("40 54", "cut off within object 0x54"),
        ("41 00", "key"),
    ],
)
def test_an_unreadable_advert_is_refused_with_its_reason(packet: str, words: str) -> None:
    assert words in refusal(BthomeDecoder().decode(DEVICE, bytes.fromhex(packet)))


# Source: public BTHome v2 encryption page, its published vector (25.06 C, 50.55 %).
def test_the_published_encrypted_advert_is_read() -> None:
    advert = BthomeDecoder({DEVICE: KEY}).decode(DEVICE, SEALED)
    assert isinstance(advert, BthomeAdvert)
    assert [one.good for one in advert.temperatures] == [25.06]
    assert advert.packet_id == 0x33221100


def test_an_advert_with_an_older_counter_is_refused() -> None:
    decoder = BthomeDecoder({DEVICE: KEY})
    assert isinstance(decoder.decode(DEVICE, seal("02ca09", 8)), BthomeAdvert)
    assert isinstance(decoder.decode(DEVICE, seal("02ca09", 9)), BthomeAdvert)
    assert "went back from 9 to 8" in refusal(decoder.decode(DEVICE, seal("02ca09", 8)))
    assert isinstance(decoder.decode(DEVICE, seal("02ca09", 10)), BthomeAdvert)


def test_a_second_packet_under_the_same_counter_is_refused() -> None:
    decoder = BthomeDecoder({DEVICE: KEY})
    assert isinstance(decoder.decode(DEVICE, seal("02ca09", 8)), BthomeAdvert)
    assert "went back" in refusal(decoder.decode(DEVICE, seal("02cb09", 8)))


def test_the_same_advert_heard_twice_keeps_its_counter() -> None:
    decoder = BthomeDecoder({DEVICE: KEY})
    assert decoder.decode(DEVICE, SEALED) == decoder.decode(DEVICE, SEALED)


def test_a_counter_may_wrap_around() -> None:
    decoder = BthomeDecoder({DEVICE: KEY})
    assert isinstance(decoder.decode(DEVICE, seal("02ca09", 0xFFFFFFFF)), BthomeAdvert)
    assert isinstance(decoder.decode(DEVICE, seal("02ca09", 1)), BthomeAdvert)


def test_a_forged_advert_does_not_spend_the_counter() -> None:
    decoder = BthomeDecoder({DEVICE: KEY})
    forged = seal("02ca09", 0x7FFFFFFF, key=bytes(16))
    assert "does not fit" in refusal(decoder.decode(DEVICE, forged))
    assert isinstance(decoder.decode(DEVICE, seal("02ca09", 5)), BthomeAdvert)


def test_a_plain_advert_from_a_device_with_a_key_is_not_believed() -> None:
    decoder = BthomeDecoder({DEVICE.lower(): KEY})
    assert "not encrypted" in refusal(decoder.decode(DEVICE, bytes.fromhex("40 02ca09")))


@pytest.mark.parametrize(
    ("address", "key", "words"),
    [(DEVICE, KEY[:5], "16 bytes"), ("no-address-at-all", KEY, "hidden")],
)
def test_what_is_wrong_with_a_key_or_address_is_said(address: str, key: bytes, words: str) -> None:
    assert words in refusal(BthomeDecoder({address: key}).decode(address, SEALED))


@given(st.binary(max_size=40), st.booleans())
def test_no_bytes_make_it_raise(packet: bytes, keyed: bool) -> None:
    decoder = BthomeDecoder({DEVICE: KEY} if keyed else {})
    assert isinstance(decoder.decode(DEVICE, packet), BthomeAdvert | Refusal)


@given(st.binary(max_size=31))
def test_no_objects_make_it_raise(objects: bytes) -> None:
    assert isinstance(BthomeDecoder().decode(DEVICE, b"\x40" + objects), BthomeAdvert | Refusal)


def test_an_advert_does_not_fill_the_list_of_probes() -> None:
    """An extended advert of a stranger could hold a hundred one-byte temperatures."""
    sixteen, more = bytes.fromhex("5714") * 16, bytes.fromhex("5714") * 17
    found = BthomeDecoder().decode(DEVICE, b"\x40" + sixteen)
    assert isinstance(found, BthomeAdvert)
    assert len(found.temperatures) == 16
    assert "more than 16" in refusal(BthomeDecoder().decode(DEVICE, b"\x40" + more))

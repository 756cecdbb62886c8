"""Worked bytes: Bluetooth SIG GATT Specification Supplement (formats and special values)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.sources.decoding import (
    DECODERS,
    Refusal,
    Temperature,
    Verdict,
    decode_battery,
    decode_cooking_temperature,
    decode_environment_temperature,
    decode_health_temperature,
)


def celsius(decoded: Temperature | Refusal) -> float:
    assert isinstance(decoded, Temperature), decoded
    assert decoded.verdict is Verdict.GOOD
    assert decoded.celsius is not None
    return decoded.celsius


def reason(decoded: object) -> str:
    assert isinstance(decoded, Refusal), decoded
    return decoded.reason


# Source: GATT Specification Supplement, Temperature Measurement; medfloat32.
@pytest.mark.parametrize(
    ("packet", "expected"),
    [
        ("00 3a 15 00 fe", 54.34),
        ("01 12 05 00 ff", (129.8 - 32) * 5 / 9),
        ("06 1b 02 00 ff ea 07 0b 19 12 1e 05 02", 53.9),
        ("00 d6 ff ff ff", -4.2),
        ("04 1b 02 00 ff 02", 53.9),
        ("00 36 00 00 00", 54.0),
        ("00 05 00 00 01", 50.0),
    ],
)
def test_a_health_thermometer_is_read_in_either_unit(packet: str, expected: float) -> None:
    assert celsius(decode_health_temperature(bytes.fromhex(packet))) == pytest.approx(
        expected, abs=1e-9
    )


# Source: GATT Specification Supplement, medfloat32 special values.
@pytest.mark.parametrize("mantissa", ["ff ff 7f", "00 00 80", "fe ff 7f", "02 00 80", "01 00 80"])
def test_a_special_mantissa_is_no_reading(mantissa: str) -> None:
    decoded = decode_health_temperature(bytes.fromhex(f"00 {mantissa} 00"))
    assert decoded == Temperature(None, Verdict.INVALID)


def test_a_health_packet_without_its_promised_time_is_refused() -> None:
    refused = reason(decode_health_temperature(bytes.fromhex("06 1b 02 00 ff ea 07")))
    assert refused == "too short: 7 of 13 bytes"


def test_a_huge_exponent_is_out_of_range_and_not_an_error() -> None:
    decoded = decode_health_temperature(bytes.fromhex("00 01 00 00 7f"))
    assert isinstance(decoded, Temperature)
    assert decoded.verdict is Verdict.OUT_OF_RANGE
    assert decoded.good is None


# Source: GATT Specification Supplement, Temperature: sint16, 0.01 C, 0x8000 unknown.
def test_an_environment_temperature_is_in_hundredths() -> None:
    assert celsius(decode_environment_temperature(bytes.fromhex("3a 15"))) == 54.34
    assert celsius(decode_environment_temperature(bytes.fromhex("da fd"))) == -5.50
    unknown = decode_environment_temperature(bytes.fromhex("00 80"))
    assert unknown == Temperature(None, Verdict.INVALID)


# Source: GATT Specification Supplement, Cooking Temperature: sint16, 0.1 C, 0x8000 unknown.
def test_a_cooking_temperature_is_in_tenths() -> None:
    assert celsius(decode_cooking_temperature(bytes.fromhex("1f 02"))) == 54.3
    assert decode_cooking_temperature(bytes.fromhex("00 80")) == Temperature(None, Verdict.INVALID)


def test_a_temperature_no_grill_has_is_out_of_range_but_kept() -> None:
    hot = decode_cooking_temperature((20000).to_bytes(2, "little"))
    assert hot == Temperature(2000.0, Verdict.OUT_OF_RANGE)


@pytest.mark.parametrize("packet", ["", "3a", "3a 15 00"])
def test_a_value_of_another_length_is_refused_with_its_length(packet: str) -> None:
    assert str(len(bytes.fromhex(packet))) in reason(
        decode_environment_temperature(bytes.fromhex(packet))
    )


# Source: GATT Specification Supplement, Battery Level: uint8, percent, 0 to 100.
def test_a_battery_level_is_a_percentage() -> None:
    assert decode_battery(b"\x57") == 87
    assert "101" in reason(decode_battery(b"\x65"))
    assert "0" in reason(decode_battery(b""))


@given(st.sampled_from(sorted(DECODERS)), st.binary(max_size=32))
def test_no_bytes_make_a_decoder_raise(kind: int, packet: bytes) -> None:
    decoded = DECODERS[kind](packet)
    assert isinstance(decoded, Temperature | Refusal)
    if isinstance(decoded, Temperature) and decoded.good is not None:
        assert -60 <= decoded.good <= 800

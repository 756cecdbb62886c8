"""Encoders against bytes worked by hand from the standards.

Sources: Bluetooth SIG GATT Specification Supplement and Assigned Numbers; the public BTHome v2
format page and its encryption example.
"""

from __future__ import annotations

from datetime import datetime

import pytest

from pullcall.simulators.bluetooth import encoding


def test_a_health_thermometer_sends_hundredths_of_a_degree() -> None:
    assert encoding.health_temperature(54.34) == bytes.fromhex("00 3a 15 00 fe")


def test_a_health_thermometer_can_speak_fahrenheit() -> None:
    celsius = (129.8 - 32.0) / 1.8
    packet = encoding.health_temperature(celsius, fahrenheit=True, exponent=-1)
    assert packet == bytes.fromhex("01 12 05 00 ff")


def test_a_health_thermometer_can_add_its_time_and_site() -> None:
    packet = encoding.health_temperature(
        53.9,
        exponent=-1,
        taken=datetime(2026, 11, 25, 18, 30, 5),  # noqa: DTZ001 - the field has no zone
        site=2,
    )
    assert packet == bytes.fromhex("06 1b 02 00 ff ea 07 0b 19 12 1e 05 02")


def test_a_medical_float_can_be_below_zero_or_missing() -> None:
    assert encoding.medical_float(-4.2, exponent=-1) == bytes.fromhex("d6 ff ff ff")
    assert encoding.medical_float(None) == bytes.fromhex("ff ff 7f 00")


@pytest.mark.parametrize(
    ("celsius", "packet"), [(54.34, "3a 15"), (-5.5, "da fd"), (None, "00 80")]
)
def test_environmental_sensing_sends_hundredths(celsius: float | None, packet: str) -> None:
    assert encoding.environment_temperature(celsius) == bytes.fromhex(packet)


def test_environmental_sensing_tops_out_at_the_end_of_its_range() -> None:
    assert encoding.environment_temperature(400.0) == bytes.fromhex("ff 7f")


@pytest.mark.parametrize(("celsius", "packet"), [(54.3, "1f 02"), (None, "00 80")])
def test_cookware_sends_tenths(celsius: float | None, packet: str) -> None:
    assert encoding.cooking_temperature(celsius) == bytes.fromhex(packet)


def test_a_battery_is_one_byte_of_percent() -> None:
    assert encoding.battery_level(87) == bytes.fromhex("57")


def test_an_advert_numbers_its_packet_and_repeats_the_object_for_each_sensor() -> None:
    packet = encoding.bthome_plain([38.71, 50.66], packet_id=42, battery=97)
    assert packet == bytes.fromhex("40 00 2a 01 61 02 1f0f 02 ca13")


def test_a_packet_number_starts_again_after_255() -> None:
    assert encoding.bthome_plain([], packet_id=256) == bytes.fromhex("40 00 00")


def test_an_encrypted_advert_is_the_published_example() -> None:
    packet = encoding.bthome_encrypted(
        bytes.fromhex("02ca09 03bf13"),
        bytes.fromhex("231d39c1d7cc1ab1aee224cd096db932"),
        "54:48:E6:8F:80:A5",
        int.from_bytes(bytes.fromhex("00112233"), "little"),
    )
    assert packet == bytes.fromhex("41 a47266c95f73 00112233 78237214")


def test_a_private_packet_is_tenths_above_forty_below_with_a_mark_for_unplugged() -> None:
    # Our own layout: 87 %, 943 tenths = 54.3 C, unplugged.
    assert encoding.declared_packet([54.3, None], 87) == bytes.fromhex("57 af03 ffff")

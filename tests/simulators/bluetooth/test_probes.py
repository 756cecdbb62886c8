"""What virtual probes offer and say."""

from __future__ import annotations

import pytest

from pullcall.simulators.bluetooth import probes as known
from pullcall.simulators.bluetooth.probes import Probe, Standard, service_data, services

ADDRESS = "02:00:00:00:00:01"


def test_a_16_bit_number_stands_in_the_bluetooth_base_uuid() -> None:
    # Bluetooth Core Specification, Vol 3 Part B 2.5.1: 0000xxxx-0000-1000-8000-00805F9B34FB.
    assert known.short_uuid(0x1809) == "00001809-0000-1000-8000-00805f9b34fb"


@pytest.mark.parametrize("standard", [s for s in Standard if s is not Standard.BTHOME])
def test_every_probe_with_a_link_has_a_battery(standard: Standard) -> None:
    found = services(Probe(ADDRESS, "x", standard, battery_percent=41))
    assert found[-1].uuid == known.BATTERY_SERVICE
    assert found[-1].characteristics[0].encode({}) == bytes([41])


def test_a_health_thermometer_indicates_one_value_and_notifies_the_other() -> None:
    # Bluetooth SIG Health Thermometer Service: Measurement is indicated, Intermediate notified.
    measurement, intermediate = services(Probe(ADDRESS, "x", Standard.HEALTH_THERMOMETER))[
        0
    ].characteristics
    assert (measurement.uuid[4:8], measurement.flags) == ("2a1c", ("indicate",))
    assert (intermediate.uuid[4:8], intermediate.flags) == ("2a1e", ("notify",))


def test_an_advertiser_has_no_services_and_says_all_its_channels() -> None:
    probe = Probe(ADDRESS, "x", Standard.BTHOME, ("a", "b"), battery_percent=97)
    assert services(probe) == ()
    # The public BTHome v2 page: packet 42, battery 97 %, 38.71 and 50.66 C.
    assert service_data(probe, {"a": 38.71, "b": 50.66}, 42) == {
        known.BTHOME_SERVICE: bytes.fromhex("40 002a 0161 021f0f 02ca13")
    }


def test_an_advertiser_with_a_key_counts_on_and_hides_its_values() -> None:
    probe = Probe(ADDRESS, "x", Standard.BTHOME, key="231d39c1d7cc1ab1aee224cd096db932")
    one, two = (service_data(probe, {"1": 25.0}, n)[known.BTHOME_SERVICE] for n in (1, 2))
    assert one[0] == 0x41
    assert one[-8:-4] == bytes.fromhex("01000000")
    assert one[1:-8] != two[1:-8], "the same value never looks the same twice"


def test_a_probe_with_a_link_puts_no_values_in_its_adverts() -> None:
    assert service_data(Probe(ADDRESS, "x", Standard.COOKWARE), {"1": 25.0}, 1) == {}

"""Which heard devices are probes."""

import pytest

from pullcall.sources.bluetooth.options import BluetoothOptions
from pullcall.sources.bluetooth.recognise import (
    Advert,
    AdvertReader,
    AdvertValues,
    Recognised,
    full_uuid,
    recognise,
    services_to_adopt,
)
from pullcall.sources.decoding import Refusal
from pullcall.sources.layout import Layout

BTHOME = full_uuid(0xFCD2)


def advert(
    *services: int, data: dict[str, bytes] | None = None, maker: dict[int, bytes] | None = None
) -> Advert:
    return Advert(
        "AA:BB:CC:DD:EE:FF",
        "Ember 12",
        frozenset(map(full_uuid, services)),
        data or {},
        maker or {},
    )


def ember(**where: object) -> Layout:
    return Layout.model_validate(
        {
            "name": "ember",
            "device": {"name": "Ember*", "service": "fff0"}
            if "service" in where
            else {"name": "Ember*"},
            "where": {key: value for key, value in where.items() if key != "service"},
            "field": [{"channel": 2, "offset": 1, "type": "u8", "range": [0, 100]}],
        }
    )


@pytest.mark.parametrize(
    ("service", "name"),
    [(0x1809, "Health Thermometer"), (0x181A, "Environmental Sensing"), (0x185D, "Cookware")],
)
def test_a_standard_service_is_worth_a_connection(service: int, name: str) -> None:
    assert recognise(advert(service), BluetoothOptions()) == Recognised(name, connects=True)


def test_a_bthome_advert_is_read_without_a_connection() -> None:
    heard = advert(data={BTHOME: b"\x40\x02\xca\x09"})
    assert recognise(heard, BluetoothOptions()) == Recognised("BTHome", connects=False)


def test_anything_else_is_no_probe() -> None:
    assert recognise(advert(0x180D, 0x180F), BluetoothOptions()) is None


def test_a_layout_goes_before_a_standard() -> None:
    layout = ember(characteristic="fff1")
    how = recognise(advert(0x1809), BluetoothOptions(layouts=(layout,)))
    assert how == Recognised("ember", connects=True, layout=layout)


def test_with_a_list_of_addresses_no_other_is_used() -> None:
    assert recognise(advert(0x1809), BluetoothOptions(only=("00:00:00:00:00:01",))) is None
    assert recognise(advert(0x1809), BluetoothOptions(only=("aa:bb:cc:dd:ee:ff",))) is not None


@pytest.mark.parametrize(
    ("where", "heard"),
    [
        ({"manufacturer_data": 0xFFFF}, advert(maker={0xFFFF: b"\x00\x36"})),
        ({"service_data": "fff0"}, advert(data={full_uuid(0xFFF0): b"\x00\x36"})),
    ],
)
def test_a_layout_reads_a_field_of_the_advert(where: dict[str, object], heard: Advert) -> None:
    options = BluetoothOptions(layouts=(ember(**where),))
    how = recognise(heard, options)
    assert how is not None
    assert not how.connects
    reader = AdvertReader(options)
    data = reader.data_of(heard, how)
    assert data == b"\x00\x36"
    read = reader.read(heard.address, data, how)
    assert isinstance(read, AdvertValues)
    assert {number: value.good for number, value in read.temperatures.items()} == {2: 54.0}
    assert isinstance(reader.read(heard.address, b"\x00", how), Refusal)
    assert reader.data_of(advert(), how) is None


def test_several_sensors_of_one_advert_are_numbered_in_order() -> None:
    heard = advert(data={BTHOME: bytes.fromhex("44 002a 0161 021f0f 02ca13")})
    how = Recognised("BTHome", connects=False)
    read = AdvertReader(BluetoothOptions()).read(heard.address, heard.service_data[BTHOME], how)
    assert isinstance(read, AdvertValues)
    assert {n: value.good for n, value in read.temperatures.items()} == {1: 38.71, 2: 50.66}
    assert (read.battery_percent, read.packet_id) == (97, 42)


def test_orphans_are_sought_by_the_standards_and_by_declared_services() -> None:
    layout = ember(characteristic="fff1", service=True)
    asked = services_to_adopt(BluetoothOptions(layouts=(layout,)))
    assert {full_uuid(0x1809), full_uuid(0xFFF0)} <= set(asked)

"""Which characteristics are subscribed to, and how channels are numbered."""

from pullcall.sources.bluetooth.plan import Found, Missing, Plan, plan
from pullcall.sources.bluetooth.recognise import full_uuid
from pullcall.sources.decoding import Refusal
from pullcall.sources.layout import Layout


def found(handle: int, number: int, service: int, service_handle: int, *properties: str) -> Found:
    return Found(
        handle,
        full_uuid(number),
        service_handle,
        full_uuid(service),
        frozenset(properties or ("notify",)),
    )


def planned(*characteristics: Found, layout: Layout | None = None) -> Plan:
    made = plan(characteristics, layout)
    assert isinstance(made, Plan), made
    return made


def layout() -> Layout:
    return Layout.model_validate(
        {
            "name": "twin",
            "device": {"name": "Twin"},
            "where": {"characteristic": "fff1"},
            "field": [
                {"channel": 3, "offset": 0, "type": "u8", "range": [0, 100]},
                {"channel": 4, "offset": 1, "type": "u8", "range": [0, 100]},
            ],
        }
    )


def test_channels_are_numbered_in_the_order_of_handles() -> None:
    made = planned(
        found(30, 0x2A6E, 0x181A, 10), found(12, 0x2A6E, 0x181A, 10), found(50, 0x2C2E, 0x185D, 40)
    )
    assert [(one.found.handle, list(one.channels)) for one in made.subscriptions] == [
        (12, [1]),
        (30, [2]),
        (50, [3]),
    ]
    assert made.channels == {1: "Environmental Sensing", 2: "Environmental Sensing", 3: "Cookware"}


def test_both_characteristics_of_one_health_thermometer_are_one_channel() -> None:
    made = planned(
        found(12, 0x2A1C, 0x1809, 10, "indicate"),
        found(15, 0x2A1E, 0x1809, 10, "notify"),
        found(22, 0x2A1C, 0x1809, 20, "indicate"),
    )
    assert [list(one.channels) for one in made.subscriptions] == [[1], [1], [2]]


def test_values_go_to_their_own_channel() -> None:
    made = planned(found(12, 0x2A6E, 0x181A, 10), found(15, 0x2A6E, 0x181A, 10))
    values = made.subscriptions[1].read(bytes.fromhex("3a 15"))
    assert not isinstance(values, Refusal)
    assert {number: value.good for number, value in values.items()} == {2: 54.34}
    assert isinstance(made.subscriptions[1].read(b""), Refusal)


def test_the_battery_is_found_beside_the_temperature() -> None:
    made = planned(found(12, 0x2A6E, 0x181A, 10), found(40, 0x2A19, 0x180F, 39, "read"))
    assert made.battery is not None
    assert made.battery.handle == 40


def test_a_characteristic_that_can_only_be_written_is_no_source() -> None:
    made = plan([found(12, 0x2A6E, 0x181A, 10, "write")], None)
    assert made == Missing("no temperature of a known standard; found 2a6e")


def test_a_device_with_nothing_to_read_is_listed() -> None:
    made = plan([found(40, 0x2A19, 0x180F, 39, "read"), found(3, 0x2A00, 0x1800, 1)], None)
    assert made == Missing("no temperature of a known standard; found 2a00, 2a19")
    assert plan([], None) == Missing("no temperature of a known standard; found nothing at all")


def test_a_layout_names_its_own_channels() -> None:
    made = planned(found(12, 0xFFF1, 0xFFF0, 10), layout=layout())
    assert made.channels == {3: "twin", 4: "twin"}
    values = made.subscriptions[0].read(bytes([54, 200]))
    assert not isinstance(values, Refusal)
    assert {number: value.good for number, value in values.items()} == {3: 54.0, 4: None}


def test_a_layout_whose_characteristic_is_missing_names_it() -> None:
    made = plan([found(12, 0x2A6E, 0x181A, 10)], layout())
    assert made == Missing("no 0000fff1-0000-1000-8000-00805f9b34fb; found 2a6e")

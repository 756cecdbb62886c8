"""Which adapter is used, and what is said where none can be."""

import pytest

from pullcall.sources.bluetooth.radio import Radio, Usable
from pullcall.sources.sink import AdapterState, AdapterStatus

HCI0, HCI1 = "/org/bluez/hci0", "/org/bluez/hci1"
ON, OFF = {"Powered": True}, {"Powered": False}


def radio(preferred: str | None = None, **adapters: bool) -> Radio:
    made = Radio(preferred)
    made.owner_changed(":1.5")
    for name, powered in adapters.items():
        made.adapter_seen(f"/org/bluez/{name}", {"Powered": powered})
    return made


def usable(made: Radio) -> Usable:
    chosen = made.choose()
    assert isinstance(chosen, Usable), chosen
    return chosen


def trouble(made: Radio) -> AdapterStatus:
    chosen = made.choose()
    assert isinstance(chosen, AdapterStatus), chosen
    return chosen


def test_the_first_adapter_that_is_on_is_used() -> None:
    assert usable(radio(hci0=False, hci1=True)).name == "hci1"


def test_a_named_adapter_is_used_and_no_other() -> None:
    assert usable(radio("hci1", hci0=True, hci1=True)).name == "hci1"
    assert trouble(radio("hci1", hci0=True, hci1=False)).state is AdapterState.OFF


@pytest.mark.parametrize(
    ("made", "state", "advice"),
    [
        (Radio(None), AdapterState.MISSING, "sudo systemctl start bluetooth"),
        (radio(), AdapterState.MISSING, "plug one in"),
        (radio("hci7"), AdapterState.MISSING, "plug one in"),
        (radio("hci7", hci0=True), AdapterState.MISSING, "or use hci0"),
        (radio(hci0=False), AdapterState.OFF, "bluetoothctl power on"),
    ],
)
def test_each_trouble_says_what_to_do(made: Radio, state: AdapterState, advice: str) -> None:
    assert trouble(made).state is state
    assert advice in trouble(made).note


def test_a_user_without_permission_is_told_of_the_group() -> None:
    made = Radio(None)
    made.denied()
    assert "usermod -aG bluetooth" in trouble(made).note
    made.owner_changed(":1.9")
    assert "plug one in" in trouble(made).note


def test_a_restart_of_the_service_ends_the_life_of_its_adapters() -> None:
    made = radio(hci0=True)
    before = usable(made)
    assert made.still_lives(before)
    made.owner_changed("")
    assert not made.still_lives(before)
    made.owner_changed(":1.9")
    made.adapter_seen(HCI0, ON)
    assert not made.still_lives(before)
    assert usable(made) != before


def test_an_adapter_off_and_on_again_is_another_life() -> None:
    made = radio(hci0=True)
    before = usable(made)
    made.adapter_seen(HCI0, OFF)
    made.adapter_seen(HCI0, ON)
    assert not made.still_lives(before)


def test_an_adapter_pulled_and_plugged_is_another_life() -> None:
    made = radio(hci0=True)
    before = usable(made)
    made.adapter_gone(HCI0)
    made.adapter_seen(HCI0, ON)
    assert not made.still_lives(before)


def test_what_happens_to_another_adapter_is_no_matter() -> None:
    made = radio(hci1=True)
    before = usable(made)
    made.adapter_seen(HCI0, ON)
    made.adapter_gone(HCI0)
    assert made.still_lives(before)


def test_a_changed_property_that_is_not_the_power_changes_nothing() -> None:
    made = radio(hci0=True)
    before = usable(made)
    made.adapter_seen(HCI0, {"Discovering": True})
    assert made.still_lives(before)


def test_seeing_the_adapter_again_changes_nothing() -> None:
    made = radio(hci0=True)
    before = usable(made)
    made.service_seen()
    made.adapter_seen(HCI0, ON)
    assert made.still_lives(before)

"""Who is followed while strangers flood the air."""

from pullcall.sources.bluetooth.devices import MOST_DEVICES, Device, Devices
from pullcall.sources.decoding import Temperature, Verdict
from pullcall.sources.link import Link
from pullcall.sources.timings import Timings


def device(devices: Devices, address: str, now: float, *, connects: bool = True) -> Device:
    made = devices.add(Link(address, "any", Timings(), connects=connects))
    made.heard_at = now
    return made


def streams(made: Device, now: float, values: int = 1) -> None:
    for _ in range(values):
        made.link.has_value(1, Temperature(54.3, Verdict.GOOD), now)


def full(now: float) -> Devices:
    devices = Devices(Timings())
    for n in range(MOST_DEVICES):
        device(devices, f"{n:02}", now)
    return devices


def test_with_room_nobody_makes_way() -> None:
    devices = Devices(Timings())
    device(devices, "stranger", 0.0)
    assert devices.make_room(1000.0) is None
    assert devices.has_room


def test_a_stranger_that_is_gone_makes_way_and_one_that_is_there_does_not() -> None:
    devices = full(0.0)
    assert devices.make_room(9.9) is None
    assert devices.make_room(10.0) == "00"
    assert devices.has_room
    assert devices.get("00") is None


def test_a_stranger_that_was_tried_in_vain_makes_way() -> None:
    devices = full(0.0)
    tried = devices.get("07")
    assert tried is not None
    tried.link.is_connecting()
    assert devices.make_room(0.1) is None
    tried.link.has_dropped("it did not answer in time")
    tried.link.is_sought()
    assert devices.make_room(0.1) == "07"


def test_a_connected_probe_never_makes_way() -> None:
    devices = full(0.0)
    for address in [link.address for link in devices.links()]:
        made = devices.get(address)
        assert made is not None
        made.link.is_connecting()
        made.link.has_connected(0.0, {1: "any"})
    assert devices.make_room(10_000.0) is None


def test_a_probe_that_sent_much_makes_way_last() -> None:
    devices = full(0.0)
    ours = devices.get("00")
    assert ours is not None
    streams(ours, 0.0, values=500)
    for link in devices.links()[1:]:
        forger = devices.get(link.address)
        assert forger is not None
        streams(forger, 0.0)
    assert devices.make_room(119.0) is None
    assert devices.make_room(130.0) == "01"
    for n in range(1, MOST_DEVICES):
        device(devices, f"new {n}", 130.0)
        assert devices.make_room(140.0) != "00"

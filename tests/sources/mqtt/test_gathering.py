"""Floods end here: of each channel the latest value is kept, and of devices a bounded number."""

from __future__ import annotations

from collections.abc import Iterable

from pullcall.sources.mqtt.gathering import MOST_DEVICES, Gathering
from pullcall.sources.mqtt.options import GatewayProbe
from pullcall.sources.mqtt.told import (
    Forgotten,
    Heard,
    Kept,
    Told,
    WayTold,
    line_of,
    parse_line,
)

GATE = GatewayProbe("gate", "gateway/+/t")
PIT = GatewayProbe("pit", "gateway/pit", ("$.a", "$.b"))


def take(gathering: Gathering, device: str, celsius: float, now: float) -> None:
    gathering.take(f"gateway/{device}/t", str(celsius).encode(), is_kept=False, now=now)


def heard(told: Iterable[Told]) -> dict[str, float | None]:
    """The value of each device's first channel."""
    return {one.device: one.values[1].good for one in told if isinstance(one, Heard) and one.values}


def full(now: float = 0.0, named: Iterable[str] = ()) -> Gathering:
    """As many devices as there may be."""
    made = Gathering([GATE], named)
    for n in range(MOST_DEVICES):
        take(made, f"d{n}", 20.0, now)
    assert len(heard(made.drain())) == MOST_DEVICES
    return made


def test_each_device_of_a_filter_is_told_apart() -> None:
    made = Gathering([GATE, PIT])
    take(made, "one", 20.0, 0.0)
    take(made, "two", 30.0, 0.0)
    made.take("gateway/other", b"40", is_kept=False, now=0.0)
    assert heard(made.drain()) == {"mqtt:gate-one": 20.0, "mqtt:gate-two": 30.0}
    assert made.drain() == []


def test_of_several_values_the_latest_is_told() -> None:
    made = Gathering([GATE])
    for celsius in (20.0, 21.0, 22.0):
        take(made, "one", celsius, 0.0)
    assert heard(made.drain()) == {"mqtt:gate-one": 22.0}


def test_channels_that_come_in_messages_of_their_own_are_told_together() -> None:
    made = Gathering([PIT])
    made.take("gateway/pit", b'{"a": 20}', is_kept=False, now=0.0)
    made.take("gateway/pit", b'{"b": 30}', is_kept=False, now=0.0)
    made.take("gateway/pit", b'{"b": true}', is_kept=False, now=0.0)
    (told,) = made.drain()
    assert isinstance(told, Heard)
    assert {n: value.good for n, value in told.values.items()} == {1: 20.0, 2: 30.0}
    assert (told.refused, told.reason) == (1, "channel 2 is true, no number")


def test_what_the_broker_kept_is_no_value() -> None:
    made = Gathering([GATE])
    made.take("gateway/one/t", b"54.3", is_kept=True, now=0.0)
    assert made.drain() == [Kept("gate", "mqtt:gate-one")]


def test_a_device_that_floods_is_read_ten_times_a_second_and_the_rest_is_counted() -> None:
    made = Gathering([GATE])
    read = refused = 0
    for n in range(10_000):  # ten seconds of a thousand messages each
        take(made, "mad", 20.0, n / 1000.0)
        take(made, "well", 30.0, n / 1000.0) if n % 1000 == 0 else None
        for told in made.drain():
            assert isinstance(told, Heard)
            if told.device == "mqtt:gate-mad":
                read += len(told.values)
                refused += told.refused
            else:
                assert told.values[1].good == 30.0
    assert 10 * 10 <= read <= 20 + 10 * 10
    assert read + refused == 10_000


def test_one_device_too_many_is_left_out_and_people_are_told() -> None:
    made = full()
    assert made.troubles(0.0) == {}
    take(made, "late", 54.3, 1.0)
    assert made.drain() == []
    assert "more than 64 devices send on gateway/+/t" in made.troubles(1.0)["gate"]
    assert made.troubles(200.0) == {}


def test_a_device_that_the_settings_name_always_has_a_place() -> None:
    made = full(named=["mqtt:gate-mine/1"])
    take(made, "mine", 54.3, 1.0)
    assert heard(made.drain()) == {"mqtt:gate-mine": 54.3}


def test_a_device_that_is_silent_makes_way_unless_it_is_named() -> None:
    made = full(named=["mqtt:gate-d0/1", "mqtt:gate-d1/1"])
    for n in range(3, MOST_DEVICES):
        take(made, f"d{n}", 20.0, 100.0)
    made.drain()
    take(made, "late", 54.3, 121.0)
    assert made.drain()[0] == Forgotten("mqtt:gate-d2")
    take(made, "later", 54.3, 121.0)
    assert made.drain() == []


def test_a_device_that_only_the_broker_remembers_makes_way_at_once() -> None:
    made = Gathering([GATE])
    for n in range(MOST_DEVICES):
        made.take(f"gateway/old{n}/t", b"20", is_kept=True, now=0.0)
    take(made, "new", 54.3, 0.0)
    told = made.drain()
    assert told[0] == Forgotten("mqtt:gate-old0")
    assert Kept("gate", "mqtt:gate-old0") not in told
    assert heard(told) == {"mqtt:gate-new": 54.3}


def test_two_declarations_may_read_the_same_message() -> None:
    made = Gathering([GATE, GatewayProbe("all", "+/one/t")])
    take(made, "one", 20.0, 0.0)
    assert heard(made.drain()) == {"mqtt:gate-one": 20.0, "mqtt:all-gateway": 20.0}


def test_a_trouble_that_names_a_long_topic_can_be_told() -> None:
    made = Gathering([GatewayProbe("gate", f"{'x' * 190}/+/t")])
    for n in range(MOST_DEVICES + 1):
        made.take(f"{'x' * 190}/{n}/t", b"20", is_kept=False, now=0.0)
    told = WayTold("", made.troubles(0.0))
    assert told.troubles["gate"].startswith("more than 64 devices send on xxx")
    assert parse_line(line_of(told).encode()) == told

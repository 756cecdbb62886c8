"""Probes of gateways as people see them: judged as Bluetooth's are."""

from __future__ import annotations

import logging
from dataclasses import replace

import pytest

from pullcall.bus.options import BrokerOptions
from pullcall.core.channel import is_channel
from pullcall.sources.decoding import Temperature, Verdict
from pullcall.sources.mqtt.gateways import Gateways
from pullcall.sources.mqtt.options import GatewayProbe, MqttOptions
from pullcall.sources.mqtt.told import Forgotten, Heard, Kept, WayTold
from pullcall.sources.sink import ChannelReading, LinkState, ProbeStatus

PIT = GatewayProbe("pit", "gateway/pit")
GATE = GatewayProbe("gate", "gateway/+/state", ("$.t",))
OPTIONS = MqttOptions(BrokerOptions("broker.example", 8883), (PIT, GATE))
OPEN = WayTold("")
SHUT = WayTold("The broker broker.example:8883 cannot be reached.")
WARM = Temperature(54.3, Verdict.GOOD)
KITCHEN = "mqtt:gate-kitchen"


@pytest.fixture
def gateways() -> Gateways:
    made = Gateways(OPTIONS)
    made.take(OPEN, 0.0, 0.0)
    return made


def pit(celsius: float = 54.3) -> Heard:
    return Heard("pit", "mqtt:pit", {1: Temperature(celsius, Verdict.GOOD)})


def status(gateways: Gateways, channel: str, now: float) -> ProbeStatus:
    return next(one for one in gateways.statuses(now) if one.channel == channel)


def test_before_the_broker_answers_every_probe_says_so() -> None:
    found = Gateways(OPTIONS).statuses(0.0)
    assert [one.state for one in found] == [LinkState.SEARCHING] * 2
    assert {one.note for one in found} == {"The broker is being looked for."}


def test_a_declared_probe_is_listed_before_anything_came(gateways: Gateways) -> None:
    first, second = gateways.statuses(0.0)
    assert (first.channel, first.name, first.standard) == ("mqtt:pit/1", "pit", "MQTT, text")
    assert first.note == "nothing has come on gateway/pit yet"
    assert second.note == "nothing has come on gateway/+/state yet"
    assert not is_channel(second.channel)  # of no device: no steak can have it


def test_a_value_is_a_reading_and_the_probe_streams(gateways: Gateways) -> None:
    assert gateways.take(pit(), 7.0, 1.0) == [ChannelReading("mqtt:pit/1", 54.3, 7.0)]
    found = status(gateways, "mqtt:pit/1", 1.5)
    assert (found.state, found.celsius, found.age_s) == (LinkState.STREAMING, 54.3, 0.5)
    assert found.note == ""


def test_a_silent_probe_is_stale_then_lost_and_its_age_goes_on(gateways: Gateways) -> None:
    gateways.take(pit(), 1.0, 1.0)
    assert status(gateways, "mqtt:pit/1", 3.9).state is LinkState.STREAMING
    stale = status(gateways, "mqtt:pit/1", 4.0)
    assert (stale.state, stale.celsius) == (LinkState.STALE, 54.3)
    assert stale.note == "nothing new on gateway/pit: check the probe and its gateway"
    lost = status(gateways, "mqtt:pit/1", 31.0)
    assert (lost.state, lost.celsius, lost.age_s) == (LinkState.LOST, None, 30.0)
    gateways.take(pit(55.0), 40.0, 40.0)
    assert status(gateways, "mqtt:pit/1", 40.0).state is LinkState.STREAMING


def test_a_slow_gateway_is_given_three_of_its_own_intervals(gateways: Gateways) -> None:
    for second in range(0, 50, 10):
        gateways.take(pit(), second, second)
    assert status(gateways, "mqtt:pit/1", 69.9).state is LinkState.STREAMING
    assert status(gateways, "mqtt:pit/1", 70.0).state is LinkState.LOST


def test_an_outage_of_the_broker_is_no_interval_of_the_probe(gateways: Gateways) -> None:
    gateways.take(pit(), 0.0, 0.0)
    gateways.take(SHUT, 1.0, 1.0)
    gateways.take(OPEN, 60.0, 60.0)
    gateways.take(pit(), 61.0, 61.0)
    assert status(gateways, "mqtt:pit/1", 64.0).state is LinkState.STALE


def test_the_brokers_trouble_stands_at_every_probe_also_at_one_that_streams(
    gateways: Gateways,
) -> None:
    gateways.take(pit(), 0.0, 0.0)
    gateways.take(SHUT, 1.0, 1.0)
    assert {one.note for one in gateways.statuses(1.0)} == {SHUT.note}
    assert status(gateways, "mqtt:pit/1", 1.0).state is LinkState.STREAMING
    gateways.take(OPEN, 2.0, 2.0)
    assert status(gateways, "mqtt:pit/1", 2.0).note == ""


def test_the_trouble_of_one_declaration_stands_at_its_probes_alone(gateways: Gateways) -> None:
    gateways.take(WayTold("", {"gate": "more than 64"}), 0.0, 0.0)
    assert [one.note for one in gateways.statuses(0.0)] == [
        "nothing has come on gateway/pit yet",
        "more than 64",
    ]


def test_each_device_of_a_filter_has_its_channels(gateways: Gateways) -> None:
    gateways.take(Heard("gate", KITCHEN, {1: WARM, 2: WARM}, 80), 0.0, 0.0)
    gateways.take(Heard("gate", "mqtt:gate-yard", {1: WARM}), 0.0, 0.0)
    assert [one.channel for one in gateways.statuses(0.0)] == [
        "mqtt:pit/1",
        f"{KITCHEN}/1",
        f"{KITCHEN}/2",
        "mqtt:gate-yard/1",
    ]
    assert status(gateways, f"{KITCHEN}/2", 0.0).battery_percent == 80


def test_a_device_that_a_steak_names_is_listed_from_the_start() -> None:
    named = replace(OPTIONS, named=(f"{KITCHEN}/1", "mqtt:other-kitchen/1"))
    assert [one.channel for one in Gateways(named).statuses(0.0)] == [
        "mqtt:pit/1",
        f"{KITCHEN}/1",
    ]


def test_what_the_broker_kept_is_shown_as_searching_with_a_note(gateways: Gateways) -> None:
    assert gateways.take(Kept("gate", KITCHEN), 0.0, 0.0) == []
    found = status(gateways, f"{KITCHEN}/1", 0.0)
    assert (found.state, found.celsius, found.age_s) == (LinkState.SEARCHING, None, None)
    assert "only an old value" in found.note


def test_no_reading_and_out_of_range_prove_the_link_and_are_no_readings(
    gateways: Gateways,
) -> None:
    told = Heard(
        "gate",
        KITCHEN,
        {1: Temperature(None, Verdict.INVALID), 2: Temperature(900.0, Verdict.OUT_OF_RANGE)},
    )
    assert gateways.take(told, 0.0, 0.0) == []
    assert status(gateways, f"{KITCHEN}/1", 0.0).state is LinkState.STREAMING
    assert "check its plug" in status(gateways, f"{KITCHEN}/1", 0.0).note
    assert "out of range" in status(gateways, f"{KITCHEN}/2", 0.0).note


def test_refused_packets_are_counted_logged_now_and_then_and_prove_nothing(
    gateways: Gateways, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        for _ in range(30):
            gateways.take(Heard("pit", "mqtt:pit", refused=10, reason="it is not JSON"), 0.0, 0.0)
    found = status(gateways, "mqtt:pit/1", 0.0)
    assert (found.state, found.refused) == (LinkState.SEARCHING, 300)
    assert found.note == "it is not JSON"
    assert len([line for line in caplog.messages if "it is not JSON" in line]) == 4


def test_a_device_that_made_way_is_not_listed_any_more(gateways: Gateways) -> None:
    gateways.take(Heard("gate", KITCHEN, {1: WARM}), 0.0, 0.0)
    gateways.take(Forgotten(KITCHEN), 1.0, 1.0)
    assert [one.channel for one in gateways.statuses(1.0)] == ["mqtt:pit/1", "mqtt:gate-+"]


def test_devices_are_bounded_here_too_and_unknown_probes_are_none(gateways: Gateways) -> None:
    for n in range(100):
        gateways.take(Heard("gate", f"mqtt:gate-{n}", {1: WARM}), 0.0, 0.0)
    gateways.take(Heard("nobody", "mqtt:nobody", {1: WARM}), 0.0, 0.0)
    assert len(gateways.statuses(0.0)) == 1 + 64

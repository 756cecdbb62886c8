"""What passes between the two processes, line by line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.bus.options import BrokerOptions
from pullcall.sources.decoding import Temperature, Verdict
from pullcall.sources.layout import load_layout
from pullcall.sources.mqtt.options import GatewayProbe, MqttOptions, orders_line, parse_orders
from pullcall.sources.mqtt.told import Forgotten, Heard, Kept, Told, WayTold, line_of, parse_line

LAYOUTS = Path(__file__).parents[3] / "config" / "layouts"
ORDERS = MqttOptions(
    BrokerOptions("broker.example", 8883, user="north", password="htron", ca=Path("/etc/ca.pem")),
    (
        GatewayProbe("gate", "gateway/+", ("$.a", "$.b"), "$.battery", unit="F", range=(32, 752)),
        GatewayProbe("prong", "raw/+", layout=load_layout(LAYOUTS / "twin-prong.toml")),
        GatewayProbe("pit", "pit"),
    ),
    ("mqtt:pit/1",),
)
VALUES = {1: Temperature(54.3, Verdict.GOOD), 2: Temperature(None, Verdict.INVALID)}


def test_orders_arrive_as_they_were_given() -> None:
    line = orders_line(ORDERS)
    assert "\n" not in line
    assert parse_orders(line.encode()) == ORDERS


def test_orders_that_are_none_are_refused_and_not_shown() -> None:
    with pytest.raises(ValueError, match="no orders") as caught:
        parse_orders(orders_line(ORDERS).replace("8883", '"x"').encode())
    assert "htron" not in str(caught.value)
    assert "htron" not in repr(ORDERS)


@pytest.mark.parametrize(
    "told",
    [
        WayTold("", {"gate": "more than 64 devices"}),
        Heard("gate", "mqtt:gate-kitchen", VALUES, 80, 3, "line\nbreak"),
        Kept("gate", "mqtt:gate-kitchen"),
        Forgotten("mqtt:gate-kitchen"),
    ],
)
def test_what_is_told_arrives_as_it_was_told(told: Told) -> None:
    line = line_of(told)
    assert "\n" not in line
    assert parse_line(line.encode()) == told


@pytest.mark.parametrize(
    "line",
    [
        b"",
        b"hello",
        b"[]",
        b'{"kind":"other"}',
        b'{"kind":"heard","probe":"gate"}',
        b'{"kind":"way","note":7}',
        b'{"kind":"heard","probe":"a","device":"b","values":{"1":{"celsius":"x","verdict":"good"}}}',
        b'{"kind":"heard","probe":"a","device":"b","values":{"1":{"celsius":1,"verdict":"bad"}}}',
    ],
)
def test_a_line_that_tells_nothing_known_is_refused(line: bytes) -> None:
    with pytest.raises(ValueError, match="nothing known"):
        parse_line(line)


@given(st.binary(max_size=100))
def test_no_line_raises_anything_else(line: bytes) -> None:
    with pytest.raises(ValueError, match="nothing known"):
        parse_line(line)


@pytest.mark.parametrize(
    "part",
    [
        '"values":{"1":{"celsius":Infinity,"verdict":"good"}}',
        '"values":{"1":{"celsius":1e300,"verdict":"good"}}',
        '"values":{"1":{"celsius":null,"verdict":"good"}}',
        '"values":{"99999999999":{"celsius":5,"verdict":"good"}}',
        '"battery_percent":1000',
        '"refused":-1',
        '"refused":99999999999999999999',
    ],
)
def test_figures_that_no_probe_has_are_not_believed(part: str) -> None:
    line = f'{{"kind":"heard","probe":"gate","device":"mqtt:gate-one",{part}}}'
    with pytest.raises(ValueError, match="nothing known"):
        parse_line(line.encode())

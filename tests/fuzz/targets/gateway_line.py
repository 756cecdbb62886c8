"""Lines of the process that listens to gateways, as the daemon reads them."""

from __future__ import annotations

import math

from pullcall.bus.options import BrokerOptions
from pullcall.sources.mqtt.gateways import Gateways
from pullcall.sources.mqtt.options import GatewayProbe, MqttOptions, orders_line, parse_orders
from pullcall.sources.mqtt.told import line_of, parse_line
from tests.fuzz.honest import check_json, check_words
from tests.fuzz.target import Target

_OPTIONS = MqttOptions(
    BrokerOptions("broker.lan", 8883),
    (GatewayProbe("gate", "gate/+", ("$.t",)), GatewayProbe("pit", "pit", unit="F")),
    ("mqtt:gate-one/1",),
)


def check(data: bytes) -> None:
    """Lines, one after the other: readings are finite, and what people see can be sent."""
    gateways = Gateways(_OPTIONS)
    for line in data.split(b"\n"):
        try:
            told = parse_line(line)
        except ValueError as error:
            check_words(str(error))
            continue
        assert parse_line(line_of(told).encode()) == told
        for reading in gateways.take(told, 10.0, 20.0):
            assert math.isfinite(reading.celsius) and abs(reading.celsius) < 1e6
    for status in gateways.statuses(21.0):
        check_json([status.channel, status.name, status.note, status.celsius])
        assert 0 <= status.refused < 2**53
        assert status.battery_percent is None or 0 <= status.battery_percent <= 100
    try:
        orders = parse_orders(data)
    except ValueError as error:
        check_words(str(error))
    else:
        assert parse_orders(orders_line(orders).encode()) == orders


TARGET = Target(
    check,
    (
        b'{"kind":"way","note":"","troubles":{"gate":"x"}}\n'
        b'{"kind":"heard","probe":"gate","device":"mqtt:gate-one","values":'
        b'{"1":{"celsius":54.3,"verdict":"good"}},"battery_percent":80,"refused":1,"reason":"x"}',
        b'{"kind":"kept","probe":"pit","device":"mqtt:pit"}\n'
        b'{"kind":"forgotten","device":"mqtt:pit"}',
        b'{"kind":"heard","probe":"pit","device":"mqtt:pit","values":'
        b'{"1":{"celsius":Infinity,"verdict":"good"},"99999999999999999999":{"celsius":null,'
        b'"verdict":"invalid"}},"refused":-1,"battery_percent":1e3}',
        orders_line(_OPTIONS).encode(),
        b"[" * 1500,
    ),
    (b'"kind":', b'"heard"', b'"values":', b'"celsius":', b'"verdict":"good"', b'"refused":'),
    longest=2500,
)

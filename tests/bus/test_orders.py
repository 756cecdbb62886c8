"""What passes between the daemon and the process that publishes."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from pathlib import Path

import pytest

from pullcall.bus.options import BrokerOptions, SiteOptions
from pullcall.bus.orders import Orders, parse_orders
from pullcall.bus.patience import Patience
from pullcall.bus.status import BusState, BusStatus, parse_status, status_line

ORDERS = Orders(
    BrokerOptions("broker", 8883, True, "north", "secret\n\"'", Path("/ca.pem")),
    SiteOptions("north", "North grill", False),
    Path("/logs/cooks.db"),
    "1.2.3",
)


@pytest.mark.parametrize(
    "broker",
    [
        ORDERS.broker,
        BrokerOptions("broker", 1883, False),
        replace(ORDERS.broker, certificate=Path("a b.pem"), key=Path("ü.key")),
    ],
)
def test_orders_arrive_as_they_were_given(broker: BrokerOptions) -> None:
    orders = replace(ORDERS, broker=broker)
    line = orders.line()
    assert "\n" not in line
    assert parse_orders(line.encode()) == orders


@pytest.mark.parametrize("line", [b"", b"{}", b"[]", b'{"broker": 3}', b"null", b"[" * 3000])
def test_anything_else_is_no_order(line: bytes) -> None:
    with pytest.raises(ValueError, match=r"orders|Expecting"):
        parse_orders(line)


def test_a_status_arrives_as_it_was_told() -> None:
    status = BusStatus(BusState.FAILING, "check [mqtt].", 3, 4, 5, 6, 7, 8, 9)
    assert parse_status(status_line(status).encode()) == status


@pytest.mark.parametrize(
    "changed",
    [
        {"state": "well"},
        {"note": 3},
        {"published": 1.5},
        {"published": -1},
        {"published": 10**30},
        {"x": 1},
    ],
)
def test_a_line_of_something_else_is_no_status(changed: dict[str, object]) -> None:

    with pytest.raises(ValueError, match=r"status|number|BusState"):
        parse_status(json.dumps(asdict(BusStatus()) | changed).encode())


def test_a_line_that_is_nested_without_end_is_no_status() -> None:
    with pytest.raises(ValueError, match="nested"):
        parse_status(b"[" * 3000)


def test_the_broker_is_tried_for_ever_between_half_a_second_and_ten() -> None:
    patience = Patience()
    waits = [patience.next() for _ in range(200)]
    assert all(0.5 <= wait <= 10.0 for wait in waits)
    assert waits[0] <= 1.0
    assert max(waits) > 5.0
    assert len(set(waits)) > 100  # sites do not come back all at once
    assert patience.next(lasted_s=10.0) <= 1.0

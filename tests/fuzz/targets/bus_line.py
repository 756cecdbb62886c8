"""Lines of the process that publishes, as the daemon reads them, and its first orders."""

from __future__ import annotations

from pathlib import Path

from pullcall.bus.options import BrokerOptions, SiteOptions
from pullcall.bus.orders import Orders, parse_orders
from pullcall.bus.status import BusStatus, parse_status, status_line
from tests.fuzz.honest import check_json, check_words
from tests.fuzz.target import Target

_ORDERS = Orders(
    BrokerOptions("broker.lan", 8883, password="x"), SiteOptions("north", "N"), Path("/l.db"), "1"
)


def check(data: bytes) -> None:
    """A line is a status, orders, or refused with ValueError."""
    try:
        status = parse_status(data)
    except ValueError as error:
        check_words(str(error))
    else:
        assert parse_status(status_line(status).encode()) == status
        check_json([status.note, status.records_waiting, status.published])
        assert 0 <= status.published < 2**63
    try:
        parse_orders(data)
    except ValueError as error:
        check_words(str(error))


TARGET = Target(
    check,
    (
        status_line(BusStatus()).encode(),
        status_line(BusStatus(note="The broker is gone.", records_waiting=9)).encode(),
        _ORDERS.line().encode(),
        b"[" * 1500,
        b'{"broker":[]}',
    ),
    (b'"state":', b'"ok"', b'"note":', b'"published":', b'"broker":', b'"site":', b'"log":'),
    longest=2000,
)

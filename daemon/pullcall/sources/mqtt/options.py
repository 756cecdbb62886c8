"""What is told to the process that listens to gateways, and the line that says it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from pydantic import TypeAdapter, ValidationError

from pullcall.bus.options import BrokerOptions
from pullcall.sources.layout import Layout
from pullcall.sources.timings import Timings


@dataclass(frozen=True, slots=True)
class GatewayProbe:
    """What a topic filter brings in, and how to read it.

    By ``paths`` (JSONPath, RFC 9535), by ``layout`` (bytes), or, with neither, a number as text.
    ``unit`` and ``range`` (in that unit) are those of JSON and of text.
    """

    name: str
    topic: str
    paths: tuple[str, ...] = ()
    battery: str | None = None
    layout: Layout | None = None
    unit: Literal["F", "C"] = "C"
    range: tuple[float, float] | None = None

    @property
    def standard(self) -> str:
        """What people read where a Bluetooth probe has its standard."""
        if self.layout is not None:
            return f"MQTT, {self.layout.name}"[:80]
        return "MQTT, JSON" if self.paths else "MQTT, text"


@dataclass(frozen=True, slots=True)
class MqttOptions:
    """The broker, what is heard through it, and the channels that the settings name.

    A device of a channel that is ``named`` always has a place, however many others there are.
    """

    broker: BrokerOptions
    probes: tuple[GatewayProbe, ...]
    named: tuple[str, ...] = ()
    timings: Timings = field(default_factory=Timings)


_ORDERS = TypeAdapter(MqttOptions)


def orders_line(options: MqttOptions) -> str:
    """One line of JSON; it holds the password, so it goes through a pipe and nowhere else."""
    return _ORDERS.dump_json(options).decode()


def parse_orders(line: bytes) -> MqttOptions:
    """The options of such a line. Raises ValueError for any other, without showing it."""
    try:
        return _ORDERS.validate_json(line)
    except ValidationError as exc:
        raise ValueError(f"these are no orders ({exc.error_count()} mistakes)") from None

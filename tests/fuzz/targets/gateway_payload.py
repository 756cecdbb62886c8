"""What a gateway passes on: JSON read by paths, text, and bytes read by a layout."""

from __future__ import annotations

from pathlib import Path

from pullcall.sources.layout import load_layout
from pullcall.sources.mqtt.options import GatewayProbe
from pullcall.sources.mqtt.packet import MOST_CHANNELS, PacketReader
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_temperature, check_words
from tests.fuzz.target import Target

_TWIN = load_layout(Path(__file__).parents[3] / "config" / "layouts" / "twin-prong.toml")
_READERS = [
    PacketReader(probe)
    for probe in (
        GatewayProbe("one", "gate/+", ("$.t",), "$.battery"),
        GatewayProbe("pair", "gate/+", ("$.left", "$['right']"), unit="F"),
        GatewayProbe("list", "gate/+", ("$.probes[*].t",), range=(0.0, 100.0)),
        GatewayProbe("deep", "gate/+", ("$..t",), "$..battery"),
        GatewayProbe("asked", "gate/+", ("$[?@.name=='pit' && match(@.k,'(a|b)*c')].t",)),
        GatewayProbe("text", "gate/pit", unit="F"),
        GatewayProbe("bytes", "gate/+", layout=_TWIN),
    )
]


def check(data: bytes) -> None:
    """A message to one of several declarations: what is told can be told on."""
    cards = Cards(data)
    reader, payload = cards.pick(_READERS), cards.rest()
    packet = reader.read(payload)
    assert reader.read(payload) == packet
    assert len(packet.temperatures) <= MOST_CHANNELS
    assert packet.battery_percent is None or 0 <= packet.battery_percent <= 100
    for temperature in packet.temperatures.values():
        check_temperature(temperature)
    for reason in packet.refusals:
        check_words(reason)


TARGET = Target(
    check,
    (
        b'\x00{"t":54.3,"battery":80}',
        b'\x01{"left":"129.4","right":null}',
        b'\x02{"probes":[{"t":1},{"t":"x"},{"t":2e2}]}',
        b'\x03{"a":[{"t":1e999},{"b":{"t":true}}],"battery":"nan"}',
        b'\x04[{"name":"pit","k":"ababab","t":54.3},{"name":1,"k":[],"t":[]}]',
        b"\x05 129.4 ",
        b"\x06\x57\xaf\x03\xff\xff",
        b"\x03" + b"[" * 2000,
        b'\x00"{\\"t\\":1}"',
    ),
    (b'"t":', b'"left":', b'"right":', b'"probes":', b'"battery":', b'"name":"pit"', b'"k":"'),
    longest=3000,
    weight=1.5,
)

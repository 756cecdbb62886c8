"""What one message of a gateway says."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.sources.decoding.value import PLAUSIBLE_C
from pullcall.sources.layout import load_layout
from pullcall.sources.mqtt.options import GatewayProbe
from pullcall.sources.mqtt.packet import Packet, PacketReader

TWIN = load_layout(Path(__file__).parents[3] / "config" / "layouts" / "twin-prong.toml")
JSON = GatewayProbe("gate", "gateway/+", ("$.t",), "$.battery")
PAIR = GatewayProbe("pair", "gateway/+", ("$.left", "$.right"))
ARRAY = GatewayProbe("array", "gateway/+", ("$.probes[*].t",))
DEEP = GatewayProbe("deep", "gateway/+", ("$..t",))
TEXT = GatewayProbe("pit", "gateway/pit")
BYTES = GatewayProbe("prong", "gateway/+", layout=TWIN)
ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.sampled_from("tleft") | st.text(), inner),
)


def read(probe: GatewayProbe, payload: object) -> Packet:
    sent = payload if isinstance(payload, bytes) else json.dumps(payload).encode()
    return PacketReader(probe).read(sent)


def celsius(packet: Packet) -> dict[int, float | None]:
    """The good values by channel; None where it says that there is none."""
    assert packet.refusals == ()
    return {number: value.good for number, value in packet.temperatures.items()}


def refused(packet: Packet) -> str:
    assert packet.temperatures == {}
    (reason,) = packet.refusals
    return reason


def test_a_path_leads_to_the_temperature_and_another_to_the_battery() -> None:
    packet = read(JSON, {"t": 54.3, "battery": 80.4})
    assert celsius(packet) == {1: 54.3}
    assert packet.battery_percent == 80


def test_numbers_may_be_written_as_text() -> None:
    for text in ("54.3", " 54.30 ", "+54.3", "5.43e1", "054.3"):
        assert celsius(read(JSON, {"t": text})) == {1: pytest.approx(54.3)}
        assert celsius(read(TEXT, text.encode())) == {1: pytest.approx(54.3)}


def test_fahrenheit_is_taken_as_fahrenheit() -> None:
    warm = GatewayProbe("gate", "gateway/+", ("$.t",), unit="F")
    # 212 F is 100 C and 129.74 F is 54.3 C by definition of the scale.
    assert celsius(read(warm, {"t": 212})) == {1: pytest.approx(100.0)}
    assert celsius(read(GatewayProbe("p", "p", unit="F"), b"129.74")) == {1: pytest.approx(54.3)}


def test_several_results_of_one_path_are_channels_in_order() -> None:
    packet = read(ARRAY, {"probes": [{"t": 20}, {"t": 30}, {"t": 40}]})
    assert celsius(packet) == {1: 20.0, 2: 30.0, 3: 40.0}


def test_a_path_of_a_list_that_finds_nothing_does_not_move_the_others() -> None:
    assert celsius(read(PAIR, {"left": 20, "right": 30})) == {1: 20.0, 2: 30.0}
    assert celsius(read(PAIR, {"right": 30})) == {2: 30.0}


def test_a_path_of_a_list_that_finds_several_is_refused_for_its_channel_alone() -> None:
    several = GatewayProbe("pair", "gateway/+", ("$..a", "$.b"))
    packet = read(several, {"a": 1, "c": {"a": 2}, "b": 30})
    assert {n: value.good for n, value in packet.temperatures.items()} == {2: 30.0}
    assert packet.refusals == ("channel 1 is found several times",)


def test_null_means_that_there_is_no_reading() -> None:
    packet = read(PAIR, {"left": 20, "right": None})
    assert celsius(packet) == {1: 20.0, 2: None}


def test_what_no_probe_can_measure_is_shown_and_not_used() -> None:
    for absurd in (801, -61, 1e30):
        packet = read(JSON, {"t": absurd})
        assert celsius(packet) == {1: None}
        assert packet.temperatures[1].celsius == absurd


def test_a_range_is_in_the_unit_of_the_probe_and_has_its_ends() -> None:
    narrow = GatewayProbe("gate", "gateway/+", ("$.t",), unit="F", range=(32, 212))
    assert celsius(read(narrow, {"t": 32})) == {1: pytest.approx(0.0, abs=1e-9)}
    assert celsius(read(narrow, {"t": 212})) == {1: pytest.approx(100.0)}
    assert celsius(read(narrow, {"t": 212.1})) == {1: None}
    assert celsius(read(narrow, {"t": 31.9})) == {1: None}


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (True, "channel 1 is true, no number"),
        (False, "channel 1 is false, no number"),
        ("warm", "channel 1 is 'warm', no number"),
        ("54,3", "channel 1 is '54,3', no number"),
        ("nan", "channel 1 is 'nan', no number"),
        ("1_0", "channel 1 is '1_0', no number"),
        ("٥٤", "channel 1 is '٥٤', no number"),
        ("", "channel 1 is '', no number"),
        ([54.3], "channel 1 is a list, no number"),
        ({"c": 54.3}, "channel 1 is an object, no number"),
        (10**400, "channel 1 is too large, no number"),
    ],
)
def test_what_is_no_number_is_refused_and_named(value: object, says: str) -> None:
    assert refused(read(JSON, {"t": value})) == says


@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"{",
        b"\xff\xfe",
        b'{"t": NaN}',
        b'{"t": Infinity}',
        b'{"t": 54.3} {"t": 54.3}',
        b"[" * 10_000 + b"]" * 5_000,
        b'{"t": ' + b"1" * 6_000 + b"}",
    ],
)
def test_what_is_no_json_is_refused(payload: bytes) -> None:
    assert refused(read(JSON, payload)) == "it is not JSON, or nested too deep"


def test_a_number_too_large_for_any_is_refused() -> None:
    assert refused(read(JSON, b'{"t": 1e999}')) == "channel 1 is too large, no number"
    assert refused(read(TEXT, b"1e999")) == "channel 1 is '1e999', no number"


def test_a_megabyte_is_refused_unread() -> None:
    assert "1000000 bytes" in refused(read(JSON, b" " * 1_000_000))
    assert "1000000 bytes" in refused(read(BYTES, b"\0" * 1_000_000))


def test_json_that_is_nested_deeper_than_paths_go_is_refused() -> None:
    deep = b'{"a":' * 500 + b'{"t":54.3}' + b"}" * 500
    assert "cannot be read" in refused(read(DEEP, deep))


def test_a_message_without_what_the_path_looks_for_is_refused() -> None:
    assert refused(read(JSON, {"humidity": 40})) == "it has nothing where its path looks"


def test_a_message_that_has_the_battery_alone_is_none_to_be_refused() -> None:
    assert read(JSON, {"battery": 80}) == Packet(battery_percent=80)


@pytest.mark.parametrize("odd", [101, -1, True, "full", None])
def test_a_battery_that_is_no_percentage_is_none(odd: object) -> None:
    packet = read(JSON, {"t": 54.3, "battery": odd})
    assert (celsius(packet), packet.battery_percent) == ({1: 54.3}, None)


def test_more_values_than_channels_are_refused() -> None:
    assert len(celsius(read(ARRAY, {"probes": [{"t": 20}] * 16}))) == 16
    assert "more than 16" in refused(read(ARRAY, {"probes": [{"t": 20}] * 17}))


def test_bytes_that_are_passed_on_are_read_by_the_layout_of_their_probe() -> None:
    # As worked out in docs/probes.md: 0x03AF = 943, 943 * 0.1 - 40 = 54.3; 0xFFFF is no reading.
    packet = read(BYTES, bytes.fromhex("57af03ffff"))
    assert celsius(packet) == {1: pytest.approx(54.3), 2: None}
    assert "too short" in refused(read(BYTES, b"\x57\xaf\x03"))


@given(st.binary(max_size=200))
def test_no_bytes_raise(payload: bytes) -> None:
    for probe in (JSON, PAIR, DEEP, TEXT, BYTES):
        check(read(probe, payload))


@given(ANY_JSON)
def test_no_json_raises(document: object) -> None:
    for probe in (JSON, PAIR, DEEP):
        check(read(probe, document))


def check(packet: Packet) -> None:
    """What is good is finite and plausible, and something is always said."""
    assert packet.temperatures or packet.refusals or packet.battery_percent is not None
    for value in packet.temperatures.values():
        if value.good is not None:
            assert math.isfinite(value.good)
            assert PLAUSIBLE_C[0] <= value.good <= PLAUSIBLE_C[1]

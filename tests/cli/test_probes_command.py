"""``pullcall probes`` as people read it."""

from pullcall.cli.probes import adapter_line, closing, row, screen
from pullcall.sources.sink import AdapterState, AdapterStatus, LinkState, ProbeStatus

OK = AdapterStatus("hci0", AdapterState.OK)
OFF = AdapterStatus("hci0", AdapterState.OFF, "The adapter is off; switch it on.")
LEFT = ProbeStatus(
    channel="AA:BB:CC:DD:EE:FF/1",
    device="AA:BB:CC:DD:EE:FF",
    name="Left",
    standard="Cookware",
    state=LinkState.STREAMING,
    celsius=54.34,
    battery_percent=87,
    rssi_dbm=-60,
    age_s=0.4,
)
LOST = ProbeStatus(
    channel="AA:BB:CC:DD:EE:00/1",
    device="AA:BB:CC:DD:EE:00",
    name="",
    standard="BTHome",
    state=LinkState.CONNECTING,
    attempts=3,
    refused=2,
    note="it is out of reach",
)


def test_a_streaming_channel_is_one_row() -> None:
    assert row(LEFT, {LEFT.channel: "left"}) == (
        "AA:BB:CC:DD:EE:FF/1",
        "Left",
        "Cookware",
        "129.8 F / 54.3 C",
        "87 %",
        "-60 dBm",
        "0 s",
        "streaming",
        "left",
        "",
    )


def test_what_is_not_known_is_a_dash_and_tries_are_counted() -> None:
    cells = row(LOST, {})
    assert cells[1] == "-"
    assert cells[3:7] == ("-", "-", "-", "-")
    assert cells[7:] == ("connecting (3)", "-", "it is out of reach; 2 packets refused")


def test_the_screen_has_the_adapter_a_head_and_a_row_each() -> None:
    lines = screen([LEFT, LOST], [adapter_line(OK)], {})
    assert lines[0] == "Bluetooth hci0: ok"
    assert lines[2].startswith("CHANNEL")
    assert [line.split()[0] for line in lines[3:]] == [LEFT.channel, LOST.channel]


def test_with_nothing_heard_it_says_what_to_do() -> None:
    assert "switch one on" in screen([], [adapter_line(None)], {})[-1]
    assert (
        screen([], [adapter_line(OFF)], {})[0]
        == "Bluetooth hci0: off. The adapter is off; switch it on."
    )
    assert closing([], OFF, {}) == []
    assert "switch one on" in closing([], None, {})[0]
    assert adapter_line(None) == "Bluetooth: looking for the adapter"


def test_the_end_tells_how_to_assign_the_first_free_channel() -> None:
    lines = closing([LEFT, LOST], OK, {LEFT.channel: "left"})
    assert f'    probe = "{LOST.channel}"' in lines
    assert "    [[steak]]" in lines


def test_with_every_channel_assigned_there_is_nothing_to_tell() -> None:
    assert closing([LEFT], OK, {LEFT.channel: "left"}) == [
        "Every channel heard is assigned to a steak."
    ]


def test_a_gateway_that_nothing_came_from_offers_no_channel() -> None:
    silent = ProbeStatus("mqtt:gate-+", "mqtt:gate-+", "gate", "MQTT, JSON", LinkState.SEARCHING)
    assert "switch one on" in closing([silent], None, {})[0]
    lines = closing([silent, LEFT], None, {})
    assert f'    probe = "{LEFT.channel}"' in lines

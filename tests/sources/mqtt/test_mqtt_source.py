"""Readings of a gateway's user reach the site through a real broker, whatever ends in between."""

from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from pathlib import Path

import aiomqtt
import pytest

from pullcall.bus.connection import connected
from pullcall.bus.options import BrokerOptions
from pullcall.clock import Clock, RealClock
from pullcall.sources.decoding import Temperature, Verdict
from pullcall.sources.layout import load_layout
from pullcall.sources.mqtt import source as source_module
from pullcall.sources.mqtt.options import GatewayProbe, MqttOptions, orders_line
from pullcall.sources.mqtt.source import COMMAND, MqttSource
from pullcall.sources.mqtt.told import Heard, line_of
from pullcall.sources.sink import ChannelReading, LinkState
from pullcall.sources.timings import Timings
from tests.broker import Broker
from tests.process import running
from tests.sources.collector import DEADLINE_S, Collector
from tests.sources.mqtt.silent_broker import silent_broker

pytestmark = pytest.mark.integration

TWIN = load_layout(Path(__file__).parents[3] / "config" / "layouts" / "twin-prong.toml")
GATE = GatewayProbe("gate", "gateway/+/state", ("$.t",), "$.battery")
PRONG = GatewayProbe("prong", "gateway/raw/+", layout=TWIN)
PIT = GatewayProbe("pit", "gateway/pit", unit="F")
NOWHERE = BrokerOptions("127.0.0.1", 1, tls=False)
#: Like the defaults in their order, and short.
QUICK = Timings(stale_s=0.6, lost_s=1.5)


@asynccontextmanager
async def listening(
    broker: BrokerOptions,
    *probes: GatewayProbe,
    clock: Clock | None = None,
    command: Sequence[str] = COMMAND,
) -> AsyncIterator[Collector]:
    options = MqttOptions(broker, probes or (GATE, PRONG, PIT), timings=QUICK)
    here = Collector(MqttSource(options, clock or RealClock(), command=command))
    here.start()
    try:
        yield here
    finally:
        await here.stop()


@asynccontextmanager
async def gateway(broker: Broker) -> AsyncIterator[aiomqtt.Client]:
    async with connected(broker.options("gateway"), "gateway") as client:
        yield client


def notes(here: Collector) -> set[str]:
    return {probe.note for probe in here.source.probes()}


async def until_open(here: Collector) -> None:
    """The broker is reached, and everything is subscribed to."""
    await here.until(lambda: not any("roker" in note for note in notes(here)))


async def keep_sending(client: aiomqtt.Client) -> None:
    while True:
        await client.publish("gateway/pit", b"129.74", qos=1)
        await asyncio.sleep(0.05)


@asynccontextmanager
async def a_pit_that_sends(broker: Broker) -> AsyncIterator[None]:
    async with gateway(broker) as client:
        sending = asyncio.create_task(keep_sending(client))
        try:
            yield
        finally:
            sending.cancel()
            await asyncio.wait({sending})


def child() -> int:
    """The process that listens for this one."""
    return children()[0]


def children() -> list[int]:
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            stat = (folder / "stat").read_text().rpartition(")")[2].split()
            command = (folder / "cmdline").read_bytes()
        except OSError:
            continue  # it has ended
        if int(stat[1]) == os.getpid() and stat[0] != "Z" and b"pullcall.sources.mqtt" in command:
            found.append(int(folder.name))
    return found


async def test_what_a_gateway_publishes_arrives_in_each_of_the_three_forms(broker: Broker) -> None:
    async with listening(broker.options("north")) as here, gateway(broker) as client:
        await until_open(here)
        await client.publish("gateway/kitchen2/state", b'{"t": "54.3", "battery": 80}', 1)
        await client.publish("gateway/raw/7", bytes.fromhex("57af03ffff"), 1)
        await client.publish("gateway/pit", b"129.74", 1)
        await here.until(lambda: len(here.readings.all) >= 3)
        assert here.readings.last("mqtt:gate-kitchen2/1") == 54.3
        assert here.readings.last("mqtt:prong-7/1") == pytest.approx(54.3)
        assert here.readings.last("mqtt:pit/1") == pytest.approx(54.3)
        assert here.status("mqtt:gate-kitchen2/1").battery_percent == 80
        assert here.readings.count("mqtt:prong-7/2") == 0
        assert here.source.adapter() is None


async def test_readings_are_stamped_with_the_sites_own_clock(broker: Broker) -> None:
    class Late(RealClock):
        def monotonic(self) -> float:
            return super().monotonic() + 1e6

    late = Late()
    async with listening(broker.options("north"), PIT, clock=late) as here:
        await until_open(here)
        before = late.monotonic()
        async with a_pit_that_sends(broker):
            await here.until_streaming("mqtt:pit/1")
        assert before <= here.readings.all[0].at <= late.monotonic()


async def test_rubbish_is_counted_and_what_follows_is_read(broker: Broker) -> None:
    async with listening(broker.options("north"), GATE) as here, gateway(broker) as client:
        await until_open(here)
        for rubbish in (b"", b"[" * 10_000, b'{"t": true}', b"\xff" * 200_000):
            await client.publish("gateway/k/state", rubbish, 1)
        await client.publish("gateway/k/state", b'{"t": 54.3}', 1)
        await here.until(lambda: here.readings.count("mqtt:gate-k/1") > 0)
        assert here.status("mqtt:gate-k/1").refused == 4
        assert [reading.celsius for reading in here.readings.all] == [54.3]


async def test_what_the_broker_kept_is_no_reading(broker: Broker) -> None:
    async with gateway(broker) as client:
        await client.publish("gateway/old/state", b'{"t": 20}', 1, retain=True)
        async with listening(broker.options("north"), GATE) as here:
            await here.until(lambda: "only an old value" in here.status("mqtt:gate-old/1").note)
            assert here.is_in("mqtt:gate-old/1", LinkState.SEARCHING)
            await client.publish("gateway/old/state", b'{"t": 54.3}', 1, retain=True)
            await here.until(lambda: here.readings.count("mqtt:gate-old/1") > 0)
            assert [reading.celsius for reading in here.readings.all] == [54.3]


async def test_a_flood_of_one_device_does_not_hold_up_another(broker: Broker) -> None:
    async with listening(broker.options("north"), GATE, PIT) as here, a_pit_that_sends(broker):
        await here.until_streaming("mqtt:pit/1")
        async with connected(broker.options("gateway"), "mad") as mad:
            for n in range(3_000):
                await mad.publish("gateway/mad/state", b'{"t": %d}' % (n % 90), 0)
        await here.until_streaming("mqtt:pit/1")
        await here.until(lambda: here.status("mqtt:gate-mad/1").refused > 0)
        # Read: 20 at once and 10 a second; told: at most 10 a second.
        assert here.readings.count("mqtt:gate-mad/1") < 300


async def test_a_broker_that_dies_is_named_and_the_probe_comes_back_with_it(
    broker: Broker,
) -> None:
    async with listening(broker.options("north"), PIT) as here:
        async with a_pit_that_sends(broker):
            await here.until_streaming("mqtt:pit/1")
        broker.kill()
        await here.until(lambda: here.is_in("mqtt:pit/1", LinkState.STALE))
        await here.until(lambda: here.is_in("mqtt:pit/1", LinkState.LOST))
        await here.until(lambda: "cannot be reached" in here.status("mqtt:pit/1").note)
        broker.start()
        async with a_pit_that_sends(broker):
            await here.until_streaming("mqtt:pit/1")
        assert here.status("mqtt:pit/1").note == ""


async def test_a_process_that_is_killed_is_started_again(broker: Broker) -> None:
    async with listening(broker.options("north"), PIT) as here, a_pit_that_sends(broker):
        await here.until_streaming("mqtt:pit/1")
        first = child()
        os.kill(first, signal.SIGKILL)
        await here.until(lambda: "started again" in here.status("mqtt:pit/1").note)
        await here.until_streaming("mqtt:pit/1")
        assert child() != first


async def test_the_password_stands_in_no_command_line_and_no_environment(broker: Broker) -> None:
    async with listening(broker.options("north"), PIT) as here:
        await until_open(here)
        folder = Path("/proc") / str(child())
        assert b"htron" not in (folder / "cmdline").read_bytes()
        assert b"htron" not in (folder / "environ").read_bytes()


async def test_the_process_ends_with_the_source(broker: Broker) -> None:
    async with listening(broker.options("north"), PIT) as here:
        await until_open(here)
        assert len(children()) == 1
    assert children() == []


def test_the_process_ends_when_the_daemon_dies() -> None:
    orders = orders_line(MqttOptions(NOWHERE, (PIT,)))
    alone = subprocess.Popen(COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert alone.stdin is not None
    assert alone.stdout is not None
    alone.stdin.write(orders.encode() + b"\n")
    alone.stdin.flush()
    assert b"looked for" in alone.stdout.readline()
    alone.stdin.close()
    assert alone.wait(timeout=30) == 0
    alone.stdout.close()


async def test_a_topic_that_this_user_may_not_read_is_named_at_its_probe() -> None:
    async with (
        silent_broker() as port,
        listening(BrokerOptions("127.0.0.1", port, tls=False), PIT) as here,
    ):
        await here.until(lambda: "does not let this site read gateway/pit" in "".join(notes(here)))


@pytest.mark.parametrize(
    ("command", "says"),
    [
        (("/nowhere/python",), "could not be started"),
        ((sys.executable, "-c", "input()"), "ended"),
        ((sys.executable, "-c", "input(); print('hello'); input()"), "is not understood"),
        ((sys.executable, "-c", "input(); print('x' * 10**6); input()"), "is not understood"),
        ((sys.executable, "-c", "input(); input()"), "said nothing for"),
    ],
)
async def test_what_is_wrong_with_the_process_is_said(
    monkeypatch: pytest.MonkeyPatch, command: Sequence[str], says: str
) -> None:
    monkeypatch.setattr(source_module, "_SILENT_S", 2.0)
    async with listening(NOWHERE, PIT, command=command) as here:
        await here.until(lambda: says in here.status("mqtt:pit/1").note)


async def test_a_mistake_in_taking_a_reading_ends_nothing_and_it_is_listened_again(
    caplog: pytest.LogCaptureFixture,
) -> None:
    heard = line_of(Heard("pit", "mqtt:pit", {1: Temperature(50.0, Verdict.GOOD)}))
    command = (sys.executable, "-c", f"input(); print({heard!r}, flush=True); input()")
    source = MqttSource(MqttOptions(NOWHERE, (PIT,)), RealClock(), command=command)

    class Sink:
        readings = 0

        def reading(self, reading: ChannelReading) -> None:
            self.readings += 1
            raise KeyError(reading.channel)

    sink = Sink()
    task = asyncio.create_task(source.run(sink))
    async with asyncio.timeout(DEADLINE_S):
        while sink.readings < 2 and not task.done():  # noqa: ASYNC110 - there is no event for it
            await asyncio.sleep(0.01)
    assert sink.readings == 2
    assert "stopped by a mistake (KeyError): it is started again" in source.probes()[0].note
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    assert sum(one.exc_info is not None for one in caplog.records) == 1


#: The program, also where a shell's background process starts it: those ignore Ctrl-C.
_HEEDS_CTRL_C = """
import runpy, signal
signal.signal(signal.SIGINT, signal.default_int_handler)
runpy.run_module("pullcall", run_name="__main__", alter_sys=True)
"""


async def test_the_command_lists_them_without_bluetooth(broker: Broker, tmp_path: Path) -> None:
    config = tmp_path / "pullcall.toml"
    declared = '[[mqtt.probe]]\nname = "pit"\ntopic = "gateway/pit"\nplain = true\nunit = "F"\n'
    config.write_text(broker.toml("north") + declared + "[bluetooth]\nenabled = false\n")
    command = (sys.executable, "-c", _HEEDS_CTRL_C, "probes", "--config", str(config))
    lines = [""]
    async with (
        running(*command, stdout=subprocess.PIPE) as listing,
        asyncio.timeout(DEADLINE_S),
        a_pit_that_sends(broker),
    ):
        assert listing.stdout is not None
        while "streaming" not in lines[-1]:
            lines.append((await listing.stdout.readline()).decode())
            assert lines[-1], "it ended"
        listing.send_signal(signal.SIGINT)
        rest = (await listing.stdout.read()).decode()
        assert await listing.wait() == 0
    assert "129.7 F / 54.3 C" in lines[-1]
    assert not any("Bluetooth" in line for line in lines)
    assert 'probe = "mqtt:pit/1"' in rest


def test_the_daemon_loads_nothing_of_mqtt_and_no_path_that_it_does_not_use() -> None:
    look = (
        "import sys, pullcall.settings, pullcall.sources.mqtt.source;"
        "print([m for m in sys.modules if m.split('.')[0] in ('aiomqtt', 'paho', 'jsonpath')])"
    )
    ran = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    assert ran.stdout == "[]\n"

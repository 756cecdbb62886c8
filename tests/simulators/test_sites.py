"""Many simulated sites at a real broker; what they send is what the AsyncAPI file says."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import aiomqtt
import pytest

from pullcall.bus.channels import CALL, PRESENCE, STATE, place_of
from pullcall.bus.connection import connected
from pullcall.bus.options import SITE, BrokerOptions, SiteOptions
from pullcall.bus.publication import Leaving
from pullcall.clock import RealClock
from pullcall.simulators.open_broker import open_broker
from pullcall.simulators.played_site import Played
from pullcall.simulators.sites import SimulatedSite, main, played, run_sites, site_options
from tests.broker import Broker, running_broker
from tests.bus.described import check
from tests.process import running
from tests.tapes import first_minutes

ROOT = Path(__file__).parents[2]
#: Before the first turn is called, so that calls come soon.
BEGINS_S, SPEED = 105.0, 20.0
ENOUGH_S = 120.0


def test_every_site_has_a_name_of_its_own_that_a_topic_can_have() -> None:
    ids = [site_options(number).site for number in range(600)]
    assert len(set(ids)) == 600
    assert all(SITE.fullmatch(id) for id in ids)


def test_sites_begin_at_different_moments_of_their_cook() -> None:
    tape = first_minutes()
    thirds = Counter(int(3 * played(k, [tape], 1.0).begins_s / tape.ends_t) for k in range(30))
    assert set(thirds) == {0, 1, 2}
    assert min(thirds.values()) >= 8


async def heard(options: BrokerOptions, enough: asyncio.Event) -> list[aiomqtt.Message]:
    """Everything that a stranger who may read gets, until every channel was heard from."""
    messages: list[aiomqtt.Message] = []
    wanted = {channel.name for channel in (*STATE, CALL)} - {"grate"}
    async with connected(options, "stranger") as client:
        await client.subscribe("pullcall/#", qos=1)
        enough.set()
        async for message in client.messages:
            messages.append(message)
            place = place_of(str(message.topic))
            assert place is not None
            wanted.discard(place.channel.name)
            if not wanted:
                return messages
    raise AssertionError("the connection ended")


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    with running_broker(tmp_path / "broker") as one:
        yield one


@pytest.fixture
async def messages(broker: Broker) -> list[aiomqtt.Message]:
    """What one fast site sends, from its first message to its first call."""
    listening = asyncio.Event()
    hearing = asyncio.create_task(heard(broker.options("archive"), listening))
    await asyncio.wait_for(listening.wait(), ENOUGH_S)
    leave: asyncio.Future[Leaving] = asyncio.get_running_loop().create_future()
    north = SiteOptions("north", "North grill")
    one = Played(north, first_minutes(), BEGINS_S, SPEED)
    site = SimulatedSite(broker.options("north"), one, RealClock())
    running = asyncio.create_task(run_sites([site], leave))
    try:
        return await asyncio.wait_for(hearing, ENOUGH_S)
    finally:
        leave.set_result("gone")
        await running


async def test_all_that_a_site_sends_is_as_the_asyncapi_file_says(
    messages: list[aiomqtt.Message],
) -> None:
    assert len(messages) > 40
    for message in messages:
        check(message)


async def test_a_simulated_site_says_it_is_simulated_and_leaves_with_a_goodbye(
    messages: list[aiomqtt.Message], broker: Broker
) -> None:
    async with asyncio.timeout(ENOUGH_S), connected(broker.options("archive"), "later") as client:
        await client.subscribe("pullcall/1/north/#", qos=1)
        kept: dict[str, bytes] = {}
        async for message in client.messages:
            assert message.retain and isinstance(message.payload, bytes)
            kept[str(message.topic).removeprefix("pullcall/1/north/")] = message.payload
            if {"presence", "cook"} <= kept.keys():
                break
    assert b'"state":"gone"' in kept["presence"]
    assert b'"simulated":true' in kept["cook"]


#: Two sites in two processes.
TWO = """
import sys
from pullcall.bus.options import BrokerOptions
from pullcall.simulators.played_site import Played
from pullcall.simulators.sites import publish, site_options
from tests.tapes import first_minutes
all = [Played(site_options(k), first_minutes(), 60.0, 1.0) for k in range(2)]
publish(BrokerOptions("127.0.0.1", int(sys.argv[1]), tls=False), all, processes=2)
"""


async def until_both_are(states: set[str], port: int) -> None:
    """Wait until each of the two sites is in one of these states. Raises TimeoutError."""
    options = BrokerOptions("127.0.0.1", port, tls=False)
    now: dict[str, str] = {}
    async with asyncio.timeout(ENOUGH_S), connected(options, "looking") as client:
        await client.subscribe(PRESENCE.filter(), qos=1)
        async for message in client.messages:
            assert isinstance(message.payload, bytes)
            now[str(message.topic)] = json.loads(message.payload)["state"]
            if len(now) == 2 and set(now.values()) <= states:
                return


@pytest.mark.integration
@pytest.mark.parametrize(
    ("ends", "states"), [(signal.SIGTERM, {"gone"}), (signal.SIGKILL, {"gone", "lost"})]
)
async def test_every_process_leaves_with_the_first_one(
    tmp_path: Path, ends: signal.Signals, states: set[str]
) -> None:
    """Even if that is killed, and cannot tell the others."""
    with open_broker(tmp_path) as open_to_all:
        environment = os.environ | {"PYTHONPATH": str(ROOT)}
        command = (sys.executable, "-c", TWO, f"{open_to_all.port}")
        async with running(*command, env=environment) as process:
            await until_both_are({"here"}, open_to_all.port)
            process.send_signal(ends)
            await process.wait()
            await until_both_are(states, open_to_all.port)


def test_a_broker_without_a_port_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--broker", "localhost"])
    assert "HOST:PORT" in capsys.readouterr().err

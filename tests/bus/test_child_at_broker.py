"""The process that publishes a site, at a real broker: what it sends is as the files say."""

from __future__ import annotations

import asyncio
import sys
from asyncio.subprocess import DEVNULL, PIPE
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import aiomqtt
import pytest

from pullcall.bus.channels import EVERY, RECORD, place_of
from pullcall.bus.connection import connected
from pullcall.bus.options import SiteOptions
from pullcall.bus.orders import BYE, Orders
from pullcall.events import CookHeader, Mark, MarkKind, Reading
from pullcall.log.entries import Entry
from pullcall.log.records import to_line
from pullcall.log.store import Store
from tests.broker import Broker
from tests.bus.described import check
from tests.bus.homie_controller import Controller
from tests.process import running
from tests.tapes import first_minutes

pytestmark = pytest.mark.integration

Json = dict[str, Any]
DEADLINE_S = 60.0
#: Before the first turn is called.
BEGINS_S = 105.0
STATE = "homie/5/pullcall-north/$state"
#: What a site that is not live has besides what its view shows.
AROUND: Json = {
    "epoch": "e", "seq": 1, "wall": "2026-06-13T13:41:45Z", "speed": 1, "mode": "demo",
    "unit": "F", "ends_t": None, "banner": None, "probes": [], "adapter": None,
    "readiness": [], "outlets": [],
}  # fmt: skip


class Ear:
    """Somebody who may read everything."""

    def __init__(self, client: aiomqtt.Client) -> None:
        self.heard: list[aiomqtt.Message] = []
        self._client = client

    async def until(self, is_enough: Callable[[aiomqtt.Message], bool]) -> None:
        """Listen until a message is enough. Raises TimeoutError."""
        async with asyncio.timeout(DEADLINE_S):
            async for message in self._client.messages:
                self.heard.append(message)
                if is_enough(message):
                    return

    async def states(self, last: bytes) -> list[bytes]:
        """The device's states until this one."""
        await self.until(lambda m: str(m.topic) == STATE and m.payload == last)
        return [bytes(m.payload) for m in self.heard if str(m.topic) == STATE]


@asynccontextmanager
async def ear(broker: Broker) -> AsyncIterator[Ear]:
    async with connected(broker.options("archive"), "ear") as client:
        await client.subscribe([("pullcall/#", 1), ("homie/#", 1)])
        yield Ear(client)


class Child:
    """The process, fed with the stream of a site."""

    def __init__(self, process: asyncio.subprocess.Process) -> None:
        self.process = process

    def tell(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n".encode())

    def cook(self) -> None:
        """A snapshot, and what was said in the half minute after it."""
        tape = first_minutes()
        whole = tape.whole_at(BEGINS_S)
        self.tell(to_line({**whole.message, **AROUND}))
        for said in tape.after(whole.t):
            if said.t < BEGINS_S + 30.0:
                self.tell(to_line(said.message))


@asynccontextmanager
async def child(broker: Broker, log: Path) -> AsyncIterator[Child]:
    command = (sys.executable, "-m", "pullcall.bus")
    async with running(*command, stdin=PIPE, stdout=DEVNULL) as process:
        one = Child(process)
        north = SiteOptions("north", "North grill")
        one.tell(Orders(broker.options("north"), north, log, "0.1.0").line())
        yield one


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """The log of the cook that the stream tells of, with a few records."""
    cook = first_minutes().whole[0].message["cook"]
    header = CookHeader(cook["id"], cook["started"])
    with Store(tmp_path / "cooks.db") as store:
        store.begin(header, "boot", 0.0)
        store.write(
            [
                Entry(header.cook, Reading(104.0, "left", 20.5, "simulated-1/0")),
                Entry(header.cook, Mark(104.5, "left", MarkKind.BASTE, "m1")),
            ]
        )
    return tmp_path / "cooks.db"


def channel(message: aiomqtt.Message) -> str:
    place = place_of(str(message.topic))
    return "homie" if place is None else place.channel.name


async def test_every_message_of_a_site_is_as_its_description_says(
    broker: Broker, log: Path
) -> None:
    """Against the committed AsyncAPI file and the rules of the Homie convention."""
    wanted = {one.name for one in EVERY} | {"ready"}
    records = []

    def is_all(message: aiomqtt.Message) -> bool:
        is_ready = str(message.topic) == STATE and message.payload == b"ready"
        wanted.discard("ready" if is_ready else channel(message))
        if channel(message) == RECORD.name:
            records.append(message.payload)
        return not wanted and len(records) >= 3

    async with ear(broker) as listener, child(broker, log) as one:
        one.cook()
        await listener.until(is_all)
    device = Controller()
    for message in listener.heard:
        assert isinstance(message.payload, bytes)
        if channel(message) == "homie":
            device.take(str(message.topic), message.payload)
        else:
            check(message)
    assert device.states == ["init", "ready"]
    assert device.values["steak-1/phase"] == "on"


async def test_a_device_whose_site_was_killed_is_lost(broker: Broker, log: Path) -> None:
    async with ear(broker) as listener, child(broker, log) as one:
        one.cook()
        assert await listener.states(b"ready") == [b"init", b"ready"]
        one.process.kill()
        assert await listener.states(b"lost") == [b"init", b"ready", b"lost"]


async def test_a_device_whose_site_was_stopped_is_disconnected(broker: Broker, log: Path) -> None:
    async with ear(broker) as listener, child(broker, log) as one:
        one.cook()
        await listener.states(b"ready")
        one.tell(BYE)
        assert (await listener.states(b"disconnected"))[-1] == b"disconnected"
        assert await one.process.wait() == 0


async def test_what_a_device_said_is_kept_for_whoever_comes_later(
    broker: Broker, log: Path
) -> None:
    device = Controller()
    async with child(broker, log) as one:
        async with ear(broker) as listener:
            one.cook()
            await listener.states(b"ready")
        async with connected(broker.options("archive"), "later") as client:
            await client.subscribe("homie/5/pullcall-north/$description", qos=1)
            await client.subscribe("homie/5/pullcall-north/+/+", qos=1)
            async with asyncio.timeout(DEADLINE_S):
                async for message in client.messages:
                    assert isinstance(message.payload, bytes)
                    device.take(str(message.topic), message.payload, bool(message.retain))
                    if {"cook/stage", "steak-1/core", "alarms/words"} <= device.values.keys():
                        break
    assert device.values["cook/stage"] == "cooking"

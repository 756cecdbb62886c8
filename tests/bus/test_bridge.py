"""A site, the process that publishes it, and a real broker."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
from asyncio.subprocess import DEVNULL, PIPE
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from pullcall.bus.bridge import Bridge
from pullcall.bus.channels import place_of
from pullcall.bus.connection import connected
from pullcall.bus.options import SiteOptions
from pullcall.bus.orders import Orders
from pullcall.bus.position_file import position_beside
from pullcall.bus.status import BusState
from pullcall.clock import RealClock
from pullcall.events import MarkKind, Reading
from tests.broker import Broker
from tests.bus.place import Place
from tests.bus.reader import PATIENCE_S, Reader, reading
from tests.bus.test_mirror import mirror_of, state_of
from tests.bus.told import CALL
from tests.process import running
from tests.recorded import short_cook

NORTH = SiteOptions("north", "North grill", homie=False)
#: Says in a file which process it is, then is the real one.
_TOLD = """
import os, pathlib, runpy, sys
pathlib.Path(sys.argv[1]).write_text(str(os.getpid()))
runpy.run_module("pullcall.bus", run_name="__main__")
"""


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    one = Place(tmp_path / "cooks.db", short_cook().header)
    yield one
    one.close()


@asynccontextmanager
async def published(place: Place, broker: Broker, *command: str) -> AsyncIterator[Bridge]:
    options = broker.options("north", tls=False)
    own = {"command": command} if command else {}
    bridge = Bridge(options, NORTH, place.store.path, RealClock(), **own)
    task = asyncio.create_task(bridge.run(place))
    try:
        yield bridge
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


async def until(holds: Callable[[], bool]) -> None:
    """Wait for what the bridge is told by lines, or a file tells."""
    async with asyncio.timeout(PATIENCE_S):
        while not holds():  # noqa: ASYNC110 - there is no event for it
            await asyncio.sleep(0.01)


def expected(place: Place) -> dict[str, bytes]:
    """What a broker ought to retain of a site, but for the presence."""
    tick = {"type": "tick", "t": place.t}
    state = state_of(mirror_of(place.snapshot(), tick))
    return {topic.split("/", 3)[3]: payload for topic, payload in state.items() if payload}


def state(reader: Reader, *but: str) -> dict[str, bytes]:
    return {topic: payload for topic, payload in reader.kept.items() if topic not in but}


def kept(log: Path) -> list[int]:
    """The positions of all cooks as they are on disk."""
    file = position_beside(log)
    return list(json.loads(file.read_text())["cooks"].values()) if file.exists() else []


def called(reader: Reader) -> list[str]:
    """The calls that were announced, by their ids."""
    return [json.loads(one.payload)["id"] for one in reader.of("call")]


async def test_a_cook_is_at_the_broker_as_a_newcomer_would_be_told(
    place: Place, broker: Broker
) -> None:
    slow = ("presence", "probes", "steak/1/curve", "steak/2/curve")
    async with reading(broker) as reader:
        async with published(place, broker) as bridge:
            await reader.until(lambda: "around" in reader.kept)
            events = tuple(one for one in short_cook().inputs if one.t < 170.0)
            await place.play(replace(short_cook(), inputs=events))
            whole = {k: v for k, v in expected(place).items() if k not in slow}
            await reader.until(lambda: state(reader, *slow) == whole)
            await reader.until(lambda: reader.records() == place.lines())
            await until(lambda: bridge.status().records_waiting == 0)
            assert bridge.status().state is BusState.OK
        assert reader.says("gone")
        async with published(place, broker):  # a connection begins with everything
            await reader.until(lambda: state(reader, "presence") == expected(place))
    assert len(whole) > 10
    for one in reader.heard:
        found = place_of(one.topic)
        assert found is not None
        if found.channel.payload is not None and one.payload:
            sent = json.loads(one.payload)
            read = found.channel.payload.model_validate(sent)
            assert read.model_dump(mode="json", exclude_unset=True) == sent


async def test_a_newcomer_is_told_at_once_from_what_the_broker_retains(
    place: Place, broker: Broker
) -> None:
    async with published(place, broker):
        async with reading(broker) as first:
            await first.until(lambda: state(first, "presence") == expected(place))
        async with reading(broker) as late:
            await late.until(lambda: state(late, "presence") == expected(place))
            assert late.says("here")
            assert {one.user["epoch"] for one in late.heard} == {
                one.user["epoch"] for one in first.heard if "record" not in one.topic
            }


async def test_after_an_outage_state_and_records_are_whole_and_old_calls_are_not_told(
    place: Place, broker: Broker
) -> None:
    async with published(place, broker) as bridge:
        async with reading(broker) as before:
            place.mark(MarkKind.ON, 1.0)
            await before.until(lambda: before.records() == place.lines())
            assert not any("late" in one.user for one in before.of("record"))
        broker.kill()
        await until(lambda: bridge.status().state is BusState.FAILING)
        assert "cannot be reached" in bridge.status().note
        for second in range(2, 60):
            place.take(Reading(float(second), "left", 5.0 + second, "thin-1/0"))
        place.tick(300.0)
        place.hub.publish("call", {**CALL, "id": "stale", "t": 294.0, "in_s": 5.0})
        broker.start()
        async with reading(broker) as after:
            await after.until(lambda: "steak/1/reading" in after.kept)
            missing = place.lines()[2:]
            await after.until(lambda: after.records()[-len(missing) :] == missing)
            assert all(one.user["late"] == "1" for one in after.of("record"))
            place.hub.publish("call", {**CALL, "id": "fresh", "t": 300.0})
            await after.until(lambda: "fresh" in called(after))
            assert "stale" not in called(after)
        await until(lambda: (bridge.status().calls_dropped, bridge.status().reconnects) == (1, 1))
        assert bridge.status().restarts == 0


async def test_a_process_that_is_killed_goes_on_where_it_was(
    place: Place, broker: Broker, tmp_path: Path
) -> None:
    pid = tmp_path / "pid"
    place.mark(MarkKind.ON, 1.0)
    last = place.store.records_after(short_cook().header.cook, -1, 10)[-1][0]
    async with (
        reading(broker) as reader,
        published(place, broker, sys.executable, "-c", _TOLD, str(pid)) as bridge,
    ):
        await reader.until(lambda: len(reader.records()) == 2)
        await until(lambda: last in kept(place.store.path))
        os.kill(int(pid.read_text()), signal.SIGKILL)
        place.mark(MarkKind.TURN, 5.0)
        await reader.until(lambda: reader.records() == place.lines())
        await until(lambda: bridge.status().state is BusState.OK)
        assert bridge.status().restarts == 1
        epochs = {one.user["epoch"] for one in reader.of("pulse")}
        assert len(epochs) == 2


@pytest.mark.parametrize("who_dies", ["the daemon", "the process"])
async def test_whoever_dies_the_site_is_lost(place: Place, broker: Broker, who_dies: str) -> None:
    orders = Orders(broker.options("north"), NORTH, place.store.path, "1.2.3")
    command = (sys.executable, "-m", "pullcall.bus")
    async with (
        reading(broker) as reader,
        running(*command, stdin=PIPE, stdout=DEVNULL) as process,
    ):
        assert process.stdin is not None
        process.stdin.write(orders.line().encode() + b"\n")
        process.stdin.write(json.dumps(place.snapshot()).encode() + b"\n")
        await reader.until(lambda: reader.says("here"))
        if who_dies == "the daemon":
            process.stdin.close()
        else:
            process.kill()
        await reader.until(lambda: reader.says("lost"))
        await process.wait()
    # The last will has no number: nobody was there any more to count.
    assert ("seq" in reader.of("presence")[-1].user) is (who_dies == "the daemon")


async def test_the_next_cook_is_published_whole_and_the_one_before_to_its_end(
    place: Place, broker: Broker
) -> None:
    async with reading(broker) as reader, published(place, broker):
        place.mark(MarkKind.ON, 1.0)
        before = place.lines()
        await reader.until(lambda: "around" in reader.kept)
        steaks = short_cook().header.steaks[:1]
        place.next_cook(replace(short_cook().header, cook="next", steaks=steaks))
        await reader.until(lambda: state(reader, "presence") == expected(place))
        assert not any(topic.startswith("steak/2") for topic in reader.kept)
        await reader.until(lambda: len(reader.records()) == len(before) + 1)
    by_cook: dict[str, list[str]] = {short_cook().header.cook: [], "next": []}
    for one in reader.of("record"):
        by_cook[one.user["epoch"]].append(one.payload.decode())
    assert by_cook == {short_cook().header.cook: before, "next": place.lines()}


async def test_home_automation_is_told_on_a_way_of_its_own(place: Place, broker: Broker) -> None:
    options = replace(NORTH, homie=True)
    bridge = Bridge(broker.options("north"), options, place.store.path, RealClock())
    async with connected(broker.options("archive"), "controller") as controller:
        await controller.subscribe("homie/5/pullcall-north/$state", qos=2)
        states = aiter(controller.messages)
        task = asyncio.create_task(bridge.run(place))
        async with asyncio.timeout(PATIENCE_S):
            while (await anext(states)).payload != b"ready":
                pass
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)
            assert (await anext(states)).payload == b"disconnected"

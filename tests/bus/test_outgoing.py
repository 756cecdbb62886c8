"""All that a site says, at a real broker, where something stands in its way."""

from __future__ import annotations

import asyncio
import json
import os
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path

from pullcall.bus.options import SiteOptions
from pullcall.bus.orders import Orders
from pullcall.bus.outgoing import Outgoing
from pullcall.bus.status import BusState
from pullcall.clock import RealClock
from tests.broker import Broker
from tests.bus.place import Place
from tests.bus.reader import reading
from tests.bus.test_bridge import called, until
from tests.bus.told import CALL
from tests.recorded import short_cook

NORTH = SiteOptions("north", "North grill", homie=False)
RIVAL = "see whether another daemon publishes by the same [mqtt] site"


@asynccontextmanager
async def outgoing(broker: Broker, log: Path) -> AsyncIterator[Outgoing]:
    """Such a site for a block's length, with a snapshot told."""
    place = Place(log, short_cook().header)
    one = Outgoing(Orders(broker.options("north", tls=False), NORTH, log, "1"), RealClock())
    one.take({"type": "snapshot", **place.snapshot()})
    task = asyncio.create_task(one.run())
    try:
        yield one
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        place.close()


def is_ok(one: Outgoing) -> Callable[[], bool]:
    return lambda: one.status().state is BusState.OK


async def test_a_call_of_a_broker_that_hung_says_until_when_it_was_true(
    broker: Broker, tmp_path: Path
) -> None:
    """The broker's own clock for it begins too late: nothing else than this tells."""
    async with outgoing(broker, tmp_path / "cooks.db") as site, reading(broker) as reader:
        await until(is_ok(site))
        assert broker.process is not None
        os.kill(broker.process.pid, signal.SIGSTOP)
        made = datetime.now(UTC)
        site.take({**CALL, "id": "soon", "t": 0.0, "call": "pull_soon", "in_s": 40.0})
        await until(lambda: site.status().state is BusState.FAILING)
        site.take({"type": "tick", "t": 6.0})
        assert site.status().calls_unconfirmed == 1
        os.kill(broker.process.pid, signal.SIGCONT)
        await reader.until(lambda: "soon" in called(reader))
        heard = datetime.now(UTC)
        end = datetime.fromisoformat(reader.of("call")[0].user["until"])
        assert (end - made).total_seconds() <= 5.5
        assert heard > end
        assert len({one.user["seq"] for one in reader.of("call")}) == 1
        assert site.status().calls_dropped == 0
        site.take({**CALL, "id": "fresh", "t": 0.0})
        await reader.until(lambda: "fresh" in called(reader))
        ends = {json.loads(one.payload)["id"]: one.user["until"] for one in reader.of("call")}
        assert datetime.fromisoformat(ends["fresh"]) > datetime.now(UTC)


async def test_two_daemons_of_one_site_are_told_that_there_may_be_another(
    broker: Broker, tmp_path: Path
) -> None:
    async with outgoing(broker, tmp_path / "a.db") as a:
        await until(is_ok(a))
        async with outgoing(broker, tmp_path / "b.db") as b:
            await until(lambda: RIVAL in a.status().note or RIVAL in b.status().note)
        await until(is_ok(a))
        assert a.status().note == ""


async def test_a_broker_that_is_started_again_twice_is_no_other_daemon(
    broker: Broker, tmp_path: Path
) -> None:
    async with outgoing(broker, tmp_path / "cooks.db") as site:
        for _ in range(2):
            await until(is_ok(site))
            broker.kill()
            await until(lambda: "refused" in site.status().note)
            assert RIVAL not in site.status().note
            broker.start()
        await until(is_ok(site))

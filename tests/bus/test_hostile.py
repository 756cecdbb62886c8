"""Brokers that mean harm, and a process that is stuck: the site goes on as if nothing were."""

from __future__ import annotations

import asyncio
import sys
import threading
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from pullcall.bus.bridge import Bridge
from pullcall.bus.options import BrokerOptions, SiteOptions
from pullcall.bus.status import BusState
from pullcall.clock import RealClock
from pullcall.site.hub import Hub, Listener
from tests.bus.hostile import hostile_broker
from tests.bus.place import Json, Place
from tests.bus.reader import PATIENCE_S
from tests.bus.test_bridge import until
from tests.recorded import short_cook

NORTH = SiteOptions("north", "North grill", homie=False)
#: Takes nothing until a file is there; then counts snapshots into another.
_STUCK = """
import pathlib, sys, time
go, counted = map(pathlib.Path, sys.argv[1:])
while not go.exists():
    time.sleep(0.01)
snapshots = 0
for line in sys.stdin:
    snapshots += '"type":"snapshot"' in line
    counted.write_text(str(snapshots))
"""


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    one = Place(tmp_path / "cooks.db", short_cook().header)
    yield one
    one.close()


class Listening(Hub):
    """A hub that keeps who joined."""

    def __init__(self) -> None:
        super().__init__()
        self.joined: list[Listener] = []

    def join(self) -> Listener:
        self.joined.append(super().join())
        return self.joined[-1]


async def beat(place: Place, seconds: int) -> None:
    """So many seconds of a site, each with what it tells: none of them waits for anybody."""
    begins = round(place.t)
    for second in range(begins, begins + seconds):
        place.tick(float(second))
        place.hub.publish("banner", {"banner": f"{second}" * 100})
        await asyncio.sleep(0)


class Heart:
    """Counts how often the loop gets round to anybody else."""

    def __init__(self) -> None:
        self.beats = 0

    async def beat(self) -> None:
        while True:
            self.beats += 1
            await asyncio.sleep(0.001)


@asynccontextmanager
async def beating() -> AsyncIterator[Heart]:
    heart = Heart()
    task = asyncio.create_task(heart.beat())
    try:
        yield heart
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


async def harmed(place: Place, conduct: str) -> tuple[Bridge, int]:
    """A site at such a broker until that is known to fail; its bridge has ended then. Gives also
    how often another task's turn came meanwhile."""
    with hostile_broker(conduct) as port:
        broker = BrokerOptions("127.0.0.1", port, tls=False, user="north", password="p")
        bridge = Bridge(broker, NORTH, place.store.path, RealClock())
        task = asyncio.create_task(bridge.run(place))
        await until(lambda: place.hub.count == 1)
        async with beating() as heart, asyncio.timeout(PATIENCE_S):
            await beat(place, 100)
            await until(lambda: bridge.status().state is BusState.FAILING)
            await beat(place, 100)
        assert not task.done()
        task.cancel()
        async with asyncio.timeout(PATIENCE_S):
            await asyncio.gather(task, return_exceptions=True)
    assert place.hub.count == 0
    return bridge, heart.beats


@pytest.mark.parametrize(
    ("conduct", "sentence"),
    [
        ("silent", "cannot be reached (Operation timed out)"),
        ("unconfirming", "cannot be reached (Operation timed out)"),
        ("flooding", "sends what nobody asked it for"),
        ("vast", "cannot be reached"),
        ("closing", "cannot be reached"),
        ("babbling", "cannot be reached"),
        ("taking_over", "knows another by this name: give each site its own in [mqtt] site"),
    ],
)
async def test_whatever_a_broker_does_the_site_beats_on_and_says_what_to_do(
    place: Place, conduct: str, sentence: str
) -> None:
    bridge, beats = await harmed(place, conduct)
    assert sentence in bridge.status().note
    assert beats >= 50


async def test_a_process_that_is_stuck_is_let_go_and_begins_again_with_a_snapshot(
    place: Place, tmp_path: Path
) -> None:
    place.hub = hub = Listening()
    go, counted = tmp_path / "go", tmp_path / "counted"
    command = (sys.executable, "-c", _STUCK, str(go), str(counted))
    broker = BrokerOptions("127.0.0.1", 9, tls=False)
    bridge = Bridge(broker, NORTH, place.store.path, RealClock(), command)
    task = asyncio.create_task(bridge.run(place))
    await until(lambda: hub.count == 1)
    rescue = threading.Timer(PATIENCE_S, go.touch)  # or a loop that is held up would be for ever
    rescue.start()
    async with beating() as heart:
        await beat(place, 3000)
        await until(lambda: heart.beats >= 50)
        assert not go.exists()
    rescue.cancel()
    (stuck,) = hub.joined
    assert stuck.queue.qsize() <= 1
    assert place.snapshots == 1
    go.touch()
    await until(lambda: counted.exists() and counted.read_text() == "2")
    assert place.snapshots == len(hub.joined) == 2
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)
    assert hub.count == 0


async def test_a_process_that_cannot_be_started_is_a_failure_like_any_other(place: Place) -> None:
    broker = BrokerOptions("127.0.0.1", 9, tls=False)
    bridge = Bridge(broker, NORTH, place.store.path, RealClock(), ("/nowhere/python",))
    task = asyncio.create_task(bridge.run(place))
    await until(lambda: bridge.status().state is BusState.FAILING)
    assert "could not be started (No such file or directory)" in bridge.status().note
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)


class Mistaken(Place):
    """A site whose snapshot fails, the first times that it is asked."""

    failures = 2

    def snapshot(self) -> Json:
        if self.failures:
            self.failures -= 1
            raise KeyError("a mistake")
        return super().snapshot()


async def test_a_mistake_on_the_way_out_ends_nothing_else_is_told_and_tried_again(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    place = Mistaken(tmp_path / "cooks.db", short_cook().header)
    bridge = Bridge(BrokerOptions("127.0.0.1", 9, tls=False), NORTH, place.store.path, RealClock())
    task = asyncio.create_task(bridge.run(place))
    await until(lambda: task.done() or bridge.status().state is BusState.FAILING)
    assert bridge.status().note == (
        "The process that publishes was stopped by a mistake (KeyError): it is started again."
    )
    await until(lambda: task.done() or place.snapshots == 1)
    await until(lambda: "cannot be reached" in bridge.status().note)
    assert bridge.status().restarts == 2
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    told = [one for one in caplog.records if one.exc_info is not None]
    assert [one.getMessage() for one in told] == ["The way to the broker has a mistake in it."]
    place.close()

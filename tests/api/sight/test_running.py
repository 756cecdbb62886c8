"""Feeds that fail are begun again, each alone, also where what keeps them was begun again."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest

from pullcall.api.sight.running import Running
from pullcall.clock import RealClock
from pullcall.supervision import Edges
from tests.outlets.ears import until


class Feed:
    """Fails as often as there are faults, then goes on for ever."""

    count = 0

    def __init__(self, *faults: BaseException) -> None:
        self.faults = list(faults)
        self.at_closing: list[Exception] = []
        self.runs = 0
        self.is_running = False

    async def run(self) -> None:
        self.runs += 1
        if self.faults:
            raise self.faults.pop()
        self.is_running = True
        try:
            await asyncio.Event().wait()
        finally:
            self.is_running = False

    def close(self) -> None:
        if self.at_closing:
            raise self.at_closing.pop()


@pytest.fixture(autouse=True)
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pullcall.back_off._STEPS_S", (0.1,))


@asynccontextmanager
async def kept(feeds: Running[Feed]) -> AsyncIterator[asyncio.Task[None]]:
    task = asyncio.create_task(feeds.run())
    try:
        yield task
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


@pytest.mark.parametrize("fault", [RuntimeError("planted"), asyncio.CancelledError()])
async def test_a_feed_that_fails_is_told_and_begun_again_and_others_go_on(
    fault: BaseException,
) -> None:
    edges = Edges(RealClock())
    feeds: Running[Feed] = Running(RealClock(), edges, "late feed")
    broken, well = Feed(fault), Feed()
    broken.at_closing.append(RuntimeError("closing failed too"))
    feeds.of("well", lambda: well)
    feeds.of("broken", lambda: broken)
    async with kept(feeds) as task:
        await until(lambda: [one.part for one in edges.troubles()] == ["late feed 2"])
        await until(lambda: broken.is_running and not edges.troubles())
        assert well.runs == 1
        assert not task.done()


async def test_feeds_asked_for_before_go_on_where_what_keeps_them_is_begun_again() -> None:
    feeds: Running[Feed] = Running(RealClock(), Edges(RealClock()), "late feed")
    feed = Feed()
    feeds.of("asked", lambda: feed)
    async with kept(feeds):
        await until(lambda: feed.is_running)
    assert not feed.is_running
    async with kept(feeds):
        await until(lambda: feed.is_running)
        assert feeds.of("asked", Feed) is feed

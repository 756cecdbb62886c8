"""A board follows a real broker, and finds its way back to it."""

from __future__ import annotations

import asyncio
import gc
import json
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from pullcall.board.board import Board
from pullcall.board.subscriber import BrokerState
from pullcall.bus.connection import connected, expiring
from pullcall.bus.options import BrokerOptions
from pullcall.clock import RealClock
from tests.board.published import kept, plain, taken, until
from tests.broker import Broker, running_broker


@pytest.fixture(scope="module")
def broker(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Broker]:
    folder: Path = tmp_path_factory.mktemp("broker")
    with running_broker(folder) as one:
        yield one


@asynccontextmanager
async def a_board(options: BrokerOptions) -> AsyncIterator[Board]:
    board = Board(options, RealClock(), "C")
    running = asyncio.create_task(board.run(), name="board")
    try:
        yield board
    finally:
        running.cancel()
        await asyncio.wait({running})
        board.close()


async def until_true(is_so: Callable[[], bool], seconds: float = 60.0) -> None:
    async with asyncio.timeout(seconds):
        while True:
            if is_so():
                return
            await asyncio.sleep(0.02)


async def publish_north(broker: Broker) -> None:
    """What the short cook's site says until 200 s."""
    publications = kept(until(200.0)).values()
    async with connected(broker.options("north"), "test-north") as client:
        for one in publications:
            properties = expiring(one.expires_s, **dict(one.user))
            await client.publish(one.topic, one.payload, qos=1, retain=True, properties=properties)


async def test_a_board_is_whole_from_what_the_broker_kept(broker: Broker) -> None:
    await publish_north(broker)
    expected = kept(until(200.0))
    async with a_board(broker.options("board")) as board:
        await until_true(lambda: board.roster.messages >= len(expected))
        assert board.broker.state is BrokerState.OK
        site = board.site("north")
        assert site is not None
        assert site.name == "North grill"
        assert site.snapshot()["heard_s"] >= 0.0
        shown, own = plain(site.snapshot()), plain(until(200.0)[-1].snapshot)
        for key in ("cook", "marks", "spots", "calls", "schedule", "plan", "fire", "unit"):
            assert shown[key] == own[key], key
        [row] = board.snapshot()["rows"]
        assert (row["site"], row["heard_t"]) == ("north", None)
        assert board.roster.refused == 0


async def test_boards_run_side_by_side(broker: Broker) -> None:
    options = broker.options("board")
    async with a_board(options) as one, a_board(options) as other:
        for board in (one, other):
            await until_true(lambda board=board: board.broker.state is BrokerState.OK)  # type: ignore[misc]
        await publish_north(broker)
        for board in (one, other):
            await until_true(lambda board=board: heard(board))  # type: ignore[misc]


def heard(board: Board) -> bool:
    return any(row["heard_t"] is not None for row in board.snapshot()["rows"])


async def test_a_board_finds_its_way_back_and_its_pages_are_told(broker: Broker) -> None:
    async with a_board(broker.options("board")) as board:
        await until_true(lambda: board.broker.state is BrokerState.OK)
        page = board.join()
        broker.kill()
        await until_true(lambda: board.broker.state is BrokerState.LOST)
        assert "cannot be reached" in board.broker.note
        broker.start()
        await publish_north(broker)
        await until_true(lambda: board.broker.state is BrokerState.OK)
        await until_true(lambda: board.site("north") is not None)
        told = [line["broker"]["state"] for line in taken(page) if line["type"] == "board"]
        assert told == ["lost", "ok"]
        hello = json.loads(board.greeting(None, None)[0])
        assert (hello["type"], hello["broker"]["state"], hello["resumed"]) == ("hello", "ok", False)


async def test_a_wrong_password_is_told_in_words(broker: Broker) -> None:
    wrong = replace(broker.options("board"), password="wrong")
    async with a_board(wrong) as board:
        await until_true(lambda: board.broker.state is BrokerState.LOST)
        assert "check user and password" in board.broker.note


async def test_a_board_that_falls_behind_begins_again(
    broker: Broker, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With room for little, all that a site keeps is too much at once; later it is not."""
    await publish_north(broker)
    monkeypatch.setattr("pullcall.board.intake._MOST_BYTES", 500)
    async with a_board(broker.options("board")) as board:
        await until_true(lambda: board.broker.state is BrokerState.LOST)
        assert "fell behind" in board.broker.note
        monkeypatch.setattr("pullcall.board.intake._MOST_BYTES", 1_000_000)
        await until_true(lambda: board.broker.state is BrokerState.OK)
        await until_true(lambda: board.roster.messages >= len(kept(until(200.0))))


async def test_a_page_that_comes_back_gets_what_it_missed(broker: Broker) -> None:
    await publish_north(broker)
    async with a_board(broker.options("board")) as board:
        await until_true(lambda: board.site("north") is not None)
        page = board.join()
        await until_true(lambda: board.hub.seq > 0)
        board.leave(page)
        hello, *missed = [json.loads(line) for line in board.greeting(board.epoch, 0)]
        assert hello["resumed"] is True
        assert [line["seq"] for line in missed] == list(range(1, board.hub.seq + 1))


async def test_a_broker_that_hangs_up_while_a_board_subscribes_is_told_once_and_plainly(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What nobody asked for would be logged by asyncio when it is thrown away."""
    monkeypatch.setattr("pullcall.bus.connection.PATIENCE_S", 0.2)
    unasked: list[dict[str, object]] = []
    asyncio.get_running_loop().set_exception_handler(lambda _, told: unasked.append(told))
    server = await asyncio.start_server(hang_up_once_let_in, "127.0.0.1", 0)
    port = server.sockets[0].getsockname()[1]
    async with server, a_board(BrokerOptions("127.0.0.1", port, tls=False)) as board:
        await until_true(lambda: board.broker.state is BrokerState.LOST)
    gc.collect()
    await asyncio.sleep(0)
    assert unasked == []


async def hang_up_once_let_in(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    await reader.read(4096)
    writer.write(bytes([0x20, 3, 0, 0, 0]))  # CONNACK: success, without properties
    await writer.drain()
    await reader.read(4096)
    writer.close()

"""Nobody keeps a connection for nothing, and no address takes all."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

import httpx
import pytest
import uvicorn
from starlette.types import Receive, Scope, Send

from pullcall.buckets import Buckets, Limit
from pullcall.network.connection import RESTS, Connection

#: Not this machine by its usual name: an address of its own that is limited like any other.
ADDRESS = "::1"


async def hello(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["path"] == "/refused":
        scope[RESTS] = True
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"hello"})


@pytest.fixture
async def port() -> AsyncIterator[int]:
    config = uvicorn.Config(hello, host=ADDRESS, port=0, http=Connection, log_level="critical")
    config.lifespan = "off"
    server = uvicorn.Server(config)
    task = asyncio.create_task(server.serve())
    while not server.started:  # noqa: ASYNC110
        await asyncio.sleep(0.01)
    yield server.servers[0].sockets[0].getsockname()[1]
    server.should_exit = True
    await task


async def is_closed(reader: asyncio.StreamReader) -> bool:
    try:
        async with asyncio.timeout(60):
            return await reader.read() == b""
    except ConnectionResetError:
        return True


@pytest.mark.parametrize("sent", [b"", b"GET / HTTP/1.1\r\nHost: x\r\n"], ids=["nothing", "a part"])
async def test_who_sends_no_whole_request_is_let_go(
    port: int, sent: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Connection, "first_request_s", 0.05)
    reader, writer = await asyncio.open_connection(ADDRESS, port)
    writer.write(sent)
    assert await is_closed(reader)
    writer.close()


async def test_an_address_has_its_own_places_and_gets_them_back(
    port: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Connection.callers, "most_of_one", 2)
    kept = [await asyncio.open_connection(ADDRESS, port) for _ in range(2)]
    reader, writer = await asyncio.open_connection(ADDRESS, port)
    assert await is_closed(reader)
    for _, one in [*kept, (reader, writer)]:
        one.close()
    async with asyncio.timeout(60):
        while Connection.callers:  # noqa: ASYNC110
            await asyncio.sleep(0.01)
    async with httpx.AsyncClient() as client:
        assert (await client.get(f"http://[{ADDRESS}]:{port}/")).text == "hello"


@pytest.mark.parametrize("more", [b"G", b"x" * 10], ids=["a letter", "a body nobody asked for"])
async def test_who_begins_another_request_and_never_ends_it_is_let_go(
    port: int, monkeypatch: pytest.MonkeyPatch, more: bytes
) -> None:
    """The first was answered as everybody's is; from then on time runs, whatever drips in."""
    monkeypatch.setattr(Connection, "first_request_s", 0.3)
    announced = b"Content-Length: 100000\r\n" if more != b"G" else b""
    reader, writer = await asyncio.open_connection(ADDRESS, port)
    writer.write(b"GET / HTTP/1.1\r\nHost: x\r\n" + announced + b"\r\n")
    await reader.readuntil(b"hello")
    writer.write(more)
    await end_of(reader)
    async with asyncio.timeout(60):
        while Connection.callers:  # noqa: ASYNC110
            await asyncio.sleep(0.01)
    writer.close()


async def test_a_connection_that_asks_is_heard(port: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever drips letters is not: only a whole request counts."""
    heard: list[Connection] = []
    monkeypatch.setattr(Connection.callers, "hear", lambda address, one: heard.append(one))
    reader, writer = await asyncio.open_connection(ADDRESS, port)
    writer.write(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
    await reader.readuntil(b"hello")
    (one,) = heard
    one.data_received(b"GET / HTTP/1.1\r\n")
    one.data_received(b"Host: x\r\n")
    assert heard == [one]
    one.data_received(b"\r\n")
    assert heard == [one, one]
    await reader.readuntil(b"hello")
    writer.close()


async def test_an_address_that_comes_too_often_is_turned_away(
    port: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Connection, "coming", Buckets(Limit(0.001, 2)))
    ends = []
    for _ in range(3):
        reader, writer = await asyncio.open_connection(ADDRESS, port)
        writer.write(b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
        ends.append(await end_of(reader))
        writer.close()
    assert [b"hello" in end for end in ends] == [True, True, False]


async def test_an_address_that_asks_too_often_is_not_listened_to_for_a_while(
    port: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Requests sent ahead wait too; who rests is asked nothing and answered nothing."""
    monkeypatch.setattr(Connection, "asking", Buckets(Limit(0.001, 2)))
    monkeypatch.setattr(Connection, "rest_s", 3600.0)
    rests: list[Connection] = []
    monkeypatch.setattr(Connection, "_rested", rests.append)
    reader, writer = await asyncio.open_connection(ADDRESS, port)
    writer.write(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n" * 9)
    for _ in range(3):  # two are free, the third is the one too many
        await reader.readuntil(b"hello")
    (here,) = Connection.callers.of(ADDRESS)
    assert here.flow.read_paused
    assert here.conn.trailing_data[0]  # what was sent ahead is still to be read
    monkeypatch.undo()
    here._rested()
    for _ in range(6):
        await reader.readuntil(b"hello")
    writer.close()


async def test_a_connection_whose_request_was_refused_rests_and_no_other(
    port: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Connection, "rest_s", 3600.0)
    reader, writer = await asyncio.open_connection(ADDRESS, port)
    writer.write(b"GET /refused HTTP/1.1\r\nHost: x\r\n\r\n" * 9)
    await reader.readuntil(b"hello")
    (resting,) = Connection.callers.of(ADDRESS)
    assert resting.conn.trailing_data[0]  # eight that nobody reads yet
    other_reader, other = await asyncio.open_connection(ADDRESS, port)
    for _ in range(3):
        other.write(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        await other_reader.readuntil(b"hello")
    assert resting.conn.trailing_data[0]
    resting._rested()
    await reader.readuntil(b"hello")
    for one in (writer, other):
        one.close()


async def end_of(reader: asyncio.StreamReader) -> bytes:
    try:
        async with asyncio.timeout(60):
            return await reader.read()
    except ConnectionResetError:
        return b""

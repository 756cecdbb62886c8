"""Nobody keeps a connection for nothing, and no address takes all."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

import httpx
import pytest
import uvicorn
from starlette.types import Receive, Scope, Send

from pullcall.network.connection import Connection

#: Not this machine by its usual name: an address of its own that is limited like any other.
ADDRESS = "::1"


async def hello(scope: Scope, receive: Receive, send: Send) -> None:
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
        async with asyncio.timeout(5):
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
    monkeypatch.setattr(Connection, "most_of_an_address", 2)
    kept = [await asyncio.open_connection(ADDRESS, port) for _ in range(2)]
    reader, writer = await asyncio.open_connection(ADDRESS, port)
    assert await is_closed(reader)
    for _, one in [*kept, (reader, writer)]:
        one.close()
    async with asyncio.timeout(5):
        while Connection._open:  # noqa: ASYNC110
            await asyncio.sleep(0.01)
    async with httpx.AsyncClient() as client:
        assert (await client.get(f"http://[{ADDRESS}]:{port}/")).text == "hello"

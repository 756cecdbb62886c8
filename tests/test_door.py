"""A door whose socket dies is opened again, and one that cannot be opened does not close others."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import httpx
import pytest
from starlette.types import Receive, Scope, Send

from pullcall.clock import RealClock
from pullcall.door import Door
from pullcall.network.place import Place
from pullcall.supervision import Edges, Part
from tests.integration.daemon import free_pair
from tests.outlets.ears import until


async def hello(scope: Scope, receive: Receive, send: Send) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"hello"})


@pytest.fixture(autouse=True)
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pullcall.back_off._STEPS_S", (0.05,))


@asynccontextmanager
async def kept(*doors: Door) -> AsyncIterator[Edges]:
    edges = Edges(RealClock())
    task = asyncio.create_task(edges.keep(*(Part(door.name, door.serve) for door in doors)))
    try:
        yield edges
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


async def answers(door: Door) -> bool:
    async with httpx.AsyncClient(trust_env=False) as client:
        try:
            answer = await client.get(f"http://127.0.0.1:{door.place.port}/", timeout=5.0)
        except httpx.TransportError:
            return False
    return answer.text == "hello"


async def test_a_door_whose_socket_dies_is_opened_again_while_another_serves_on() -> None:
    port = free_pair()
    door, other = (Door(Place("127.0.0.1", at), hello) for at in (port, port + 1))
    async with kept(door, other) as edges:
        await door.opened.wait()
        await other.opened.wait()
        assert await answers(door)
        dead = door.place.open()
        dead.shutdown(socket.SHUT_RDWR)
        await until(lambda: bool(edges.troubles()))
        assert "page's address" in edges.troubles()[0].note
        await until(lambda: door.place.is_alive() and not edges.troubles())
        assert door.place.open() is not dead
        assert await answers(door)
        assert await answers(other)


async def test_a_door_whose_place_is_taken_opens_once_it_is_free() -> None:
    port = free_pair()
    door, other = (Door(Place("127.0.0.1", at), hello) for at in (port, port + 1))
    with socket.create_server(("127.0.0.1", port)) as taken:
        async with kept(door, other) as edges:
            await other.opened.wait()
            assert await answers(other)
            await until(lambda: bool(edges.troubles()))
            assert "stop what listens there" in edges.troubles()[0].note
            taken.close()
            await door.opened.wait()
            assert await answers(door)
            assert edges.troubles() == ()


async def test_a_server_that_makes_a_mistake_is_started_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    door = Door(Place("127.0.0.1", free_pair()), hello)
    started = asyncio.Event()

    async def fails(server: object, sockets: object = None) -> None:
        started.set()
        raise RuntimeError("no")

    with monkeypatch.context() as broken:
        broken.setattr("uvicorn.Server.serve", fails)
        task = asyncio.create_task(serve_under(door))
        await started.wait()
    edges = await task
    assert edges == ()


async def serve_under(door: Door) -> tuple[object, ...]:
    """What is wrong once it answers after a mistake."""
    async with kept(door) as edges:
        await until(lambda: bool(edges.troubles()))
        assert "(RuntimeError)" in edges.troubles()[0].note
        async with asyncio.timeout(60):
            while not await answers(door):  # noqa: ASYNC110 - only asking shows it
                await asyncio.sleep(0.01)
        return edges.troubles()

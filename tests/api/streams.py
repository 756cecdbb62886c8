"""Streams of an application without a network: a websocket, and server-sent events."""

from __future__ import annotations

import asyncio
import json
from typing import Any, Protocol

from fastapi import FastAPI

from tests.api.site_client import ADDRESS, NAME

Message = dict[str, Any]


class Served(Protocol):
    """A site, or a board."""

    app: FastAPI


class Socket:
    """One websocket, opened as a page opens it."""

    def __init__(
        self,
        served: Served,
        *,
        tickets: tuple[str, ...] = (),
        cookie: str = "",
        origin: str = f"https://{NAME}",
        host: str = NAME,
        client: str = "192.168.7.66",
        path: str = "/api/v1/stream",
        server: str = ADDRESS,
    ) -> None:
        cookies = [(b"cookie", f"__Host-pullcall={cookie}".encode())] if cookie else []
        scope = {
            **_scope("websocket", path, client),
            "server": (server, 8317),
            "scheme": "ws" if origin.startswith("http:") else "wss",
            "headers": [(b"host", host.encode()), (b"origin", origin.encode()), *cookies],
            "subprotocols": ["pullcall.1", *(f"ticket.{one}" for one in tickets)],
        }
        self._incoming: asyncio.Queue[Message] = asyncio.Queue()
        self._incoming.put_nowait({"type": "websocket.connect"})
        self._sent: asyncio.Queue[Message] = asyncio.Queue()
        run = served.app(scope, self._incoming.get, self._sent.put)  # type: ignore[arg-type]
        self._task = asyncio.ensure_future(run)

    def say(self, message: Message) -> None:
        """What the page sends."""
        self._incoming.put_nowait({"type": "websocket.receive", "text": json.dumps(message)})

    async def next(self, type: str) -> Message:
        """The next thing of an ASGI type that the site sends."""
        async with asyncio.timeout(60):
            while (message := await self._sent.get())["type"] != type:
                pass
        return message

    async def close(self) -> None:
        """The page goes away."""
        self._incoming.put_nowait({"type": "websocket.disconnect", "code": 1000})
        async with asyncio.timeout(60):
            await self._task


class Events:
    """One EventSource, by the cookie of a pairing."""

    def __init__(
        self,
        served: Served,
        cookie: str,
        query: str = "",
        path: str = "/api/v1/events",
        name: str = "__Host-pullcall",
        is_gone: bool = False,
    ) -> None:
        """``is_gone``: nothing can be sent to it any more."""
        scope = {
            **_scope("http", path, "192.168.7.66"),
            "query_string": query.encode(),
            "scheme": "https",
            "method": "GET",
            "http_version": "1.1",
            "headers": [(b"host", NAME.encode()), (b"cookie", f"{name}={cookie}".encode())],
        }
        self._sent: asyncio.Queue[Message] = asyncio.Queue()
        self._came: list[Message] = []  # what was sent at one go, as far as it was not taken yet
        self._gone = asyncio.Event()
        send = _refuse if is_gone else self._sent.put
        run = served.app(scope, self._receive, send)  # type: ignore[arg-type]
        self._task = asyncio.ensure_future(run)

    async def ended(self) -> None:
        """Wait for the answer's end, however it ended."""
        async with asyncio.timeout(60):
            await asyncio.gather(self._task, return_exceptions=True)

    async def status(self) -> int:
        """The status of the answer."""
        async with asyncio.timeout(60):
            started = await self._sent.get()
        return int(started["status"])

    async def next(self) -> Message | None:
        """The next message; None once the site has ended the stream."""
        while not self._came:
            async with asyncio.timeout(60):
                sent = await self._sent.get()
            if sent["type"] == "http.response.body":
                if not sent["body"]:
                    return None
                events = sent["body"].decode().split("\n\n")[:-1]
                self._came += [json.loads(one.partition("data: ")[2]) for one in events]
        return self._came.pop(0)

    async def close(self) -> None:
        """The page goes away."""
        self._gone.set()
        async with asyncio.timeout(60):
            await self._task

    async def _receive(self) -> Message:
        await self._gone.wait()
        return {"type": "http.disconnect"}


async def _refuse(message: Message) -> None:
    raise ConnectionResetError


def _scope(type: str, path: str, client: str) -> Message:
    return {
        "type": type,
        "asgi": {"version": "3.0", "spec_version": "2.3"},
        "path": path,
        "raw_path": path.encode(),
        "root_path": "",
        "query_string": b"",
        "client": (client, 50000),
        "server": (ADDRESS, 8317),
        "state": {},
    }

"""One door: a place to listen at and what is served there, for as long as its socket lives."""

from __future__ import annotations

import asyncio
import contextlib
import ssl
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import uvicorn
from starlette.types import ASGIApp

from pullcall.errors import DoorError
from pullcall.network.connection import Connection
from pullcall.network.encrypted import Encrypted
from pullcall.network.place import Place
from pullcall.network.stream_socket import StreamSocket

#: How long open connections may take to end at shutdown, seconds.
_GRACE_S = 2
#: Connections that are taken in before anything else gets its turn; others wait in the kernel.
_AT_ONCE = 32
#: How often a door is looked after, seconds.
_LOOK_S = 0.25


@dataclass(frozen=True, slots=True)
class Door:
    """What is served at a place; plain http without ``tls``. ``opened`` is set once it is."""

    place: Place
    app: ASGIApp
    tls: ssl.SSLContext | None = None
    opened: asyncio.Event = field(default_factory=asyncio.Event, compare=False)

    @property
    def name(self) -> str:
        """What people call it."""
        return f"page at {self.place.host} port {self.place.port}"

    async def serve(self) -> None:
        """Serve until cancelled, then let open connections end.

        Raises AddressInUseError where the place is taken, and DoorError once its socket died.
        """
        listener = self.place.open()
        server = _Server(_server_config(self))
        serving = asyncio.create_task(server.serve(sockets=[listener]), name=self.name)
        try:
            await self._look_after(server, serving)
        finally:
            server.should_exit = True
            error = await _ended(serving)
            self.place.close()
        if error is not None:
            raise error
        raise DoorError("Nobody could come in any more at the page's address.")

    async def _look_after(self, server: uvicorn.Server, serving: asyncio.Task[None]) -> None:
        """Return once it serves no more. uvicorn has no event for its start, only a flag."""
        while not server.started and not serving.done():  # noqa: ASYNC110
            await asyncio.sleep(0.01)
        self.opened.set()
        while self.place.is_alive() and not serving.done():
            await asyncio.wait({serving}, timeout=_LOOK_S)


async def _ended(serving: asyncio.Task[None]) -> BaseException | None:
    """Wait for a server that was told to exit; cancelling again must not leave it behind. Gives
    what it raised."""
    while not serving.done():
        with contextlib.suppress(asyncio.CancelledError):
            await asyncio.wait({serving})
    return None if serving.cancelled() else serving.exception()


class _Server(uvicorn.Server):
    """uvicorn without its own signal handling: the process has one place for that."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield

    async def on_tick(self, counter: int) -> bool:
        """Ten times a second; also whoever reads nothing is looked for."""
        Connection.unread.look(asyncio.get_running_loop().time())
        return await super().on_tick(counter)


def _server_config(door: Door) -> uvicorn.Config:
    """Small limits: this serves a handful of phones, on a network that rivals share."""
    config = uvicorn.Config(
        door.app,
        http=Connection,
        log_config=None,  # its lines go where all go, see journal.py
        log_level="warning",
        access_log=False,
        lifespan="off",
        ws=StreamSocket,
        ws_max_size=16 * 1024,
        ws_ping_interval=5.0,
        ws_ping_timeout=5.0,
        ws_per_message_deflate=False,
        h11_max_incomplete_event_size=16 * 1024,
        backlog=_AT_ONCE,
        timeout_graceful_shutdown=_GRACE_S,
        server_header=False,
        proxy_headers=False,  # a forged header must not make a stranger this machine
    )
    config.load()
    if (context := door.tls) is not None:  # its certificate is replaced while it serves
        config.http_protocol_class = partial(_over_tls, context)  # type: ignore[assignment]
    return config


def _over_tls(context: ssl.SSLContext, **served: Any) -> Encrypted:
    """What a connection comes in by; uvicorn hands over what it serves."""
    loop = asyncio.get_running_loop()
    return Encrypted(loop, Connection(**served), context, Connection.unread)

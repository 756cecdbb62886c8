"""Wiring: one process, one task group; the page's server beside the cook's own tasks."""

from __future__ import annotations

import asyncio
import contextlib
import errno
import resource
import signal
import socket
import ssl
from collections.abc import Callable, Coroutine, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import uvicorn
from starlette.types import ASGIApp

from pullcall import notify
from pullcall.errors import AddressInUseError
from pullcall.network.connection import Connection

#: How long open connections may take to end at shutdown, seconds.
_GRACE_S = 2
#: Files and sockets that may be open, where the system allows it.
_FILES = 16384
_NOT_OURS = "{host} is not an address of this machine: give another with --host."


class Runnable(Protocol):
    """What the process runs beside the page's server: a live site or a player."""

    async def run(self) -> None:
        """Run until cancelled."""

    def close(self) -> None:
        """Let pages go and finish writing."""


def bind(host: str, port: int) -> socket.socket:
    """A listening socket. Raises AddressInUseError, saying what to do."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except socket.gaierror as exc:
        listener.close()
        raise AddressInUseError(_NOT_OURS.format(host=host)) from exc
    except OSError as exc:
        listener.close()
        if exc.errno == errno.EADDRNOTAVAIL:
            raise AddressInUseError(_NOT_OURS.format(host=host)) from exc
        raise AddressInUseError(
            f"Cannot serve the page on {host} port {port} ({exc.strerror}): stop what listens "
            f"there, or choose another with --port."
        ) from exc
    listener.listen(128)
    return listener


@dataclass(frozen=True, slots=True)
class Door:
    """A listening socket and what is served on it; plain http without ``tls``."""

    listener: socket.socket
    app: ASGIApp
    tls: ssl.SSLContext | None = None


async def serve(
    site: Runnable,
    doors: Sequence[Door],
    on_ready: Callable[[], None],
    *others: Coroutine[Any, Any, None],
) -> None:
    """Serve until SIGINT or SIGTERM, then shut down in order: sources, pages, log."""
    _allow_many_files()
    servers = [_Server(_server_config(door)) for door in doors]
    stop = _stop_signal()
    async with asyncio.TaskGroup() as tasks:
        pages = [
            tasks.create_task(server.serve(sockets=[door.listener]), name="page")
            for server, door in zip(servers, doors, strict=True)
        ]
        work = [tasks.create_task(site.run(), name="site")]
        work += [tasks.create_task(other) for other in others]
        for server, page in zip(servers, pages, strict=True):
            await _until_started(server, page)
        if not any(page.done() for page in pages):
            on_ready()
            notify.ready()
            await stop.wait()
        notify.stopping()
        for task in work:
            task.cancel()
        await asyncio.gather(*work, return_exceptions=True)
        site.close()
        for server in servers:
            server.should_exit = True


def _stop_signal() -> asyncio.Event:
    """An event that SIGINT and SIGTERM set."""
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, stop.set)
    return stop


async def _until_started(server: uvicorn.Server, page: asyncio.Task[None]) -> None:
    """uvicorn has no event for this, only a flag."""
    while not server.started and not page.done():  # noqa: ASYNC110
        await asyncio.sleep(0.01)


def _allow_many_files() -> None:
    """Connections of a crowd must not leave the log or the loudspeaker without a file."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = _FILES if hard == resource.RLIM_INFINITY else min(_FILES, hard)
    if soft < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))


class _Server(uvicorn.Server):
    """uvicorn without its own signal handling: the process has one place for that."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def _server_config(door: Door) -> uvicorn.Config:
    """Small limits: this serves a handful of phones, on a network that rivals share."""
    config = uvicorn.Config(
        door.app,
        http=Connection,
        log_level="warning",
        access_log=False,
        lifespan="off",
        ws="websockets-sansio",
        ws_max_size=16 * 1024,
        ws_ping_interval=5.0,
        ws_ping_timeout=5.0,
        ws_per_message_deflate=False,
        timeout_graceful_shutdown=_GRACE_S,
        server_header=False,
        proxy_headers=False,  # a forged header must not make a stranger this machine
    )
    config.load()
    config.ssl = door.tls  # its certificate is replaced while it serves, which files could not be
    return config

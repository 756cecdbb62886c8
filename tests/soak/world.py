"""What surrounds the site of a soak: phones, pages, a broker, who takes webhooks, the disk."""

from __future__ import annotations

import asyncio
import os
import random
import signal
import sqlite3
import subprocess
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager, suppress
from pathlib import Path

import httpx
import websockets

from pullcall.simulators.open_broker import OpenBroker
from tests.bench.process_cost import children

#: A disk of its own, so that it can be filled.
DISK_MB = 48
#: A page tells this often that it is there, seconds.
_BEAT_S = 4.0
_NONSENSE = (
    b"{",
    b'{"mark": "on", "steak": "nobody"}',
    b"\xff\x00",
    b'{"celsius": 1e999}',
    b"[]" * 900,
)


@contextmanager
def own_disk(folder: Path) -> Iterator[bool]:
    """Mount a small disk at ``folder``; False where this user may not."""
    options = f"size={DISK_MB}m"
    mount = ["mount", "-t", "tmpfs", "-o", options, "pullcall-soak", str(folder)]
    is_own = os.geteuid() == 0 and subprocess.run(mount, check=False).returncode == 0
    try:
        yield is_own
    finally:
        if is_own:
            subprocess.run(["umount", "--lazy", str(folder)], check=False)


@contextmanager
def full(folder: Path) -> Iterator[None]:
    """Fill a disk for a block's length."""
    file = folder / "filler"
    try:
        with suppress(OSError), file.open("wb", buffering=0) as filler:
            while True:
                filler.write(b"\0" * 65536)
        yield
    finally:
        file.unlink(missing_ok=True)


@contextmanager
def locked(log: Path) -> Iterator[None]:
    """Hold the log's write lock for a block's length, as another program might."""
    db = sqlite3.connect(log, isolation_level=None, timeout=5.0)
    try:
        db.execute("BEGIN IMMEDIATE")
        yield
    finally:
        with suppress(sqlite3.Error):
            db.execute("ROLLBACK")
        db.close()


class Webhooks:
    """Takes webhooks: well, with an error, or without ever answering."""

    def __init__(self) -> None:
        self.taken = 0
        self.mood = "well"

    @asynccontextmanager
    async def listening(self) -> AsyncIterator[str]:
        """Its address, for a block's length."""
        server = await asyncio.start_server(self._serve, "127.0.0.1", 0)
        async with server:
            yield f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}/calls"

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        try:
            with suppress(asyncio.IncompleteReadError, OSError):
                await reader.readuntil(b"\r\n\r\n")
                while self.mood == "hangs":  # noqa: ASYNC110
                    await asyncio.sleep(0.2)
                status = b"204 No Content" if self.mood == "well" else b"500 Oh"
                self.taken += self.mood == "well"
                writer.write(b"HTTP/1.1 " + status + b"\r\nContent-Length: 0\r\n")
                writer.write(b"Connection: close\r\n\r\n")
                await writer.drain()
        finally:
            writer.close()


class Pages:
    """The phones and pages of a day."""

    def __init__(self, url: str, stream: str) -> None:
        self._url = url
        self._stream = stream
        self.is_armed = True
        self.heard = 0

    async def phone(self) -> None:
        """A phone that listens, and tells that it sounds calls, until cancelled."""
        while True:
            with suppress(OSError, websockets.WebSocketException, TimeoutError):
                async with websockets.connect(self._stream) as socket:
                    async for _ in socket:
                        self.heard += 1
            await asyncio.sleep(0.5)

    async def beat(self) -> None:
        """Tell that the phone is there, until cancelled."""
        async with httpx.AsyncClient() as client:
            while True:
                body = {"phone": "soak-phone", "armed": self.is_armed}
                with suppress(httpx.HTTPError):
                    await client.post(f"{self._url}/phones", json=body)
                await asyncio.sleep(_BEAT_S)

    async def crowd(self, seconds: float, *, reads: bool) -> None:
        """Forty pages that come, and go after a while; they read or not."""
        end = asyncio.get_running_loop().time() + seconds
        await asyncio.gather(*(self._page(end, reads) for _ in range(40)))

    async def nonsense(self, seconds: float) -> None:
        """Requests that make no sense, a few at a time."""
        loop = asyncio.get_running_loop()
        end = loop.time() + seconds
        async with httpx.AsyncClient() as client:
            while loop.time() < end:
                path = random.choice(("marks", "spots", "phones", "cooks", "receipts"))
                with suppress(httpx.HTTPError):
                    await client.post(f"{self._url}/{path}", content=random.choice(_NONSENSE))
                await asyncio.sleep(0.02)

    async def begin_cook(self) -> bool:
        """End the running cook and begin another, once all is handed in; whether it did."""
        async with httpx.AsyncClient() as client:
            with suppress(httpx.HTTPError):
                now = (await client.get(f"{self._url}/snapshot")).json()
                if all(steak["phase"] == "handed_in" for steak in now["steaks"]):
                    answer = await client.post(f"{self._url}/cooks", json={})
                    return answer.is_success
        return False

    async def _page(self, end: float, reads: bool) -> None:
        loop = asyncio.get_running_loop()
        while loop.time() < end:
            with suppress(OSError, websockets.WebSocketException, TimeoutError):
                async with websockets.connect(self._stream, max_queue=None if reads else 1) as page:
                    async with asyncio.timeout(random.uniform(0.1, 3.0)):
                        if not reads:
                            await asyncio.Event().wait()
                        async for _ in page:
                            pass
            await asyncio.sleep(0.1)


def bus_process(pid: int) -> int | None:
    """The process through which a site talks to its broker."""
    for child in children(pid):
        with suppress(OSError):
            if b"pullcall.bus" in Path(f"/proc/{child}/cmdline").read_bytes():
                return child
    return None


@contextmanager
def stopped(pid: int) -> Iterator[None]:
    """A process that stands still for a block's length."""
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGSTOP)
    try:
        yield
    finally:
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGCONT)


@contextmanager
def gone(broker: OpenBroker) -> Iterator[None]:
    """A broker that is killed, and started again after the block."""
    broker.kill()
    try:
        yield
    finally:
        broker.start()

"""The installed ``pullcall serve`` as a separate process, with everything a test asks of it."""

from __future__ import annotations

import asyncio
import json
import os
import random
import signal
import socket
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import Any

import httpx
import websockets

from tests.process import running

Message = dict[str, Any]
#: What takes longer than this hangs, seconds; a busy machine may need much of it.
HANGS_S = 120.0
#: No seed makes two workers draw the same.
_DRAWS = random.SystemRandom()
PULLCALL = str(Path(sys.executable).with_name("pullcall"))


def free_pair() -> int:
    """A port that nobody listens on, nor on the one after it.

    Below those that the system hands out by itself, so that neither is taken meanwhile.
    """
    while True:
        port = _DRAWS.randrange(20000, 32000, 2)
        with socket.socket() as one, socket.socket() as next_one, suppress(OSError):
            one.bind(("0.0.0.0", port))
            next_one.bind(("0.0.0.0", port + 1))
            return port


def free_port() -> int:
    """A port that nobody listens on, as above."""
    return free_pair()


class Daemon:
    """A running daemon."""

    def __init__(self, process: asyncio.subprocess.Process, port: int) -> None:
        self.process = process
        self.url = f"http://127.0.0.1:{port}/api/v1"
        self.stream = f"ws://127.0.0.1:{port}/api/v1/stream"

    async def post(self, path: str, **body: object) -> Message:
        """POST ``body``; the answer must be a success."""
        async with httpx.AsyncClient() as client:
            answer = await client.post(f"{self.url}/{path}", json=body)
        answer.raise_for_status()
        result: Message = answer.json() if answer.content else {}
        return result

    async def snapshot(self) -> Message:
        """The snapshot as it is now."""
        async with httpx.AsyncClient() as client:
            result: Message = (await client.get(f"{self.url}/snapshot")).json()
            return result

    def kill(self) -> None:
        """End it without any warning."""
        self.process.send_signal(signal.SIGKILL)


@asynccontextmanager
async def daemon(*arguments: str, port: int, bus: str = "") -> AsyncIterator[Daemon]:
    """``pullcall`` with these arguments for a block's length, ready to be asked."""
    environment = os.environ | {"DBUS_SYSTEM_BUS_ADDRESS": bus}
    command = (PULLCALL, *arguments, "--port", str(port))
    async with running(*command, env=environment, stdout=asyncio.subprocess.PIPE) as process:
        assert process.stdout is not None
        async with asyncio.timeout(HANGS_S):
            while "http://" not in (line := (await process.stdout.readline()).decode()):
                assert line, f"pullcall ended with {await process.wait()}"
        try:
            yield Daemon(process, port)
        finally:
            await told_to_stop(process)


async def told_to_stop(process: asyncio.subprocess.Process) -> None:
    """Ask it to end, unless it has. Raises TimeoutError where it does not."""
    if process.returncode is None:
        process.terminate()
    async with asyncio.timeout(HANGS_S):
        await process.communicate()


class Watcher:
    """A page's websocket: keeps what it heard and waits for what a test is after."""

    def __init__(self, socket: websockets.ClientConnection) -> None:
        self.heard: list[Message] = []
        self._socket = socket

    async def until(self, wanted: Callable[[Message], bool], seconds: float) -> Message:
        """The next message that is wanted. Raises TimeoutError."""
        async with asyncio.timeout(seconds):
            async for line in self._socket:
                message: Message = json.loads(line)
                self.heard.append(message)
                if wanted(message):
                    return message
        raise AssertionError("the stream ended")

    async def call(self, kind: str, steak: str, seconds: float) -> Message:
        """The next call of this kind for this steak."""
        return await self.until(
            lambda m: m["type"] == "call" and m["call"] == kind and steak in m["steaks"], seconds
        )


@asynccontextmanager
async def watching(site: Daemon) -> AsyncIterator[Watcher]:
    """A page that listens for a block's length."""
    async with websockets.connect(site.stream) as socket:
        yield Watcher(socket)


async def run_pullcall(*arguments: str) -> str:
    """What a ``pullcall`` command prints; it must succeed."""
    async with running(PULLCALL, *arguments, stdout=asyncio.subprocess.PIPE) as process:
        output, _ = await process.communicate()
    assert process.returncode == 0
    return output.decode()

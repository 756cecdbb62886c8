"""A small HTTP server on this machine that answers posts as a test says."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass

OK = b"HTTP/1.1 204 No Content\r\nContent-Length: 0\r\n\r\n"
TROUBLE = b"HTTP/1.1 503 Service Unavailable\r\nContent-Length: 0\r\n\r\n"
GONE = b"HTTP/1.1 410 Gone\r\nContent-Length: 0\r\n\r\n"
#: Never answered.
HANGS = b""
#: Answered without end, a header every so often.
DRIPS = b"HTTP/1.1 200 OK\r\n"
_DRIP_S = 0.2


@dataclass(frozen=True)
class Received:
    """One request: its first line, its headers by lower-case name, its body."""

    line: str
    headers: dict[str, str]
    body: bytes


class Receiver:
    """Answers each request with the next of ``answers``, the last one for ever."""

    def __init__(self, answers: Sequence[bytes]) -> None:
        self._answers = list(answers)
        self._serving: list[asyncio.Task[None]] = []
        self.got: list[Received] = []
        self.port = 0

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/calls/a-secret-path"

    async def serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        assert task is not None
        self._serving.append(task)
        try:
            with contextlib.suppress(asyncio.IncompleteReadError, ConnectionError):
                while True:
                    self.got.append(await _read(reader))
                    await self._answer(reader, writer)
        finally:
            writer.close()

    async def _answer(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        answer = self._answers.pop(0) if len(self._answers) > 1 else self._answers[0]
        if answer == HANGS:
            await reader.read()
        writer.write(answer)
        await writer.drain()
        while answer == DRIPS:
            await asyncio.sleep(_DRIP_S)
            writer.write(b"X-More: to come\r\n")
            await writer.drain()

    async def end(self) -> None:
        """Let every connection go."""
        for task in self._serving:
            task.cancel()
        await asyncio.gather(*self._serving, return_exceptions=True)


async def _read(reader: asyncio.StreamReader) -> Received:
    head = (await reader.readuntil(b"\r\n\r\n")).decode().splitlines()
    pairs = (line.partition(":") for line in head[1:] if line)
    headers = {name.lower(): value.strip() for name, _, value in pairs}
    body = await reader.readexactly(int(headers.get("content-length", "0")))
    return Received(head[0], headers, body)


@contextlib.asynccontextmanager
async def receiver(*answers: bytes) -> AsyncIterator[Receiver]:
    """A receiver that listens within the block."""
    here = Receiver(answers)
    server = await asyncio.start_server(here.serve, "127.0.0.1", 0)
    here.port = server.sockets[0].getsockname()[1]
    try:
        yield here
    finally:
        server.close()
        await here.end()

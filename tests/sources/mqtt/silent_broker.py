"""A broker that lets everyone in and lets nobody subscribe; written from MQTT 5.0, part 3."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

_SUBSCRIBE = 0x82
#: Accepted, no properties (3.2).
_CONNACK = bytes.fromhex("20 03 00 00 00")
#: Not authorised (3.9.3).
_NOT_AUTHORISED = 0x87


@asynccontextmanager
async def silent_broker() -> AsyncIterator[int]:
    """Its port, for a block's length."""
    server = await asyncio.start_server(_serve, "127.0.0.1", 0)
    async with server:
        yield server.sockets[0].getsockname()[1]


async def _serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    try:
        await _packet(reader)
        writer.write(_CONNACK)
        while True:
            kind, body = await _packet(reader)
            if kind == _SUBSCRIBE:
                writer.write(bytes([0x90, 4, *body[:2], 0, _NOT_AUTHORISED]))
    except asyncio.IncompleteReadError:
        writer.close()


async def _packet(reader: asyncio.StreamReader) -> tuple[int, bytes]:
    """The kind and the rest of a packet of up to 16383 bytes."""
    kind, length = await reader.readexactly(2)
    if length >= 0x80:
        length += 0x80 * ((await reader.readexactly(1))[0] - 1)
    return kind, await reader.readexactly(length)

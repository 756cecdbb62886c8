"""What one page is to be sent by a scripted site or board, and the sending of it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from fastapi import WebSocket, WebSocketDisconnect

Body = dict[str, Any]
REVOKED = 4401
#: Ends a page's stream.
END: Body = {"type": "revoked"}


class Inbox:
    """Of one page, made in the server's loop: any thread may put into it, and wakes the loop."""

    def __init__(self) -> None:
        self._loop = asyncio.get_running_loop()
        self._queue: asyncio.Queue[Body] = asyncio.Queue()

    def put(self, *messages: Body) -> None:
        """Add messages, none of others between them."""
        with suppress(RuntimeError):  # the server has ended, and its loop with it
            self._loop.call_soon_threadsafe(self._take, messages)

    def _take(self, messages: tuple[Body, ...]) -> None:
        for message in messages:
            self._queue.put_nowait(message)

    async def feed(self, socket: WebSocket, answered: Callable[[], Body | None]) -> None:
        """Send a page what comes, and answers to its pings unless they are None, until it goes."""
        sending = asyncio.create_task(self._send(socket))
        try:
            while True:
                ping = await socket.receive_json()
                answer = answered()
                if answer is not None:
                    self.put({"type": "pong", "n": ping["n"], **answer})
        except WebSocketDisconnect:
            pass
        finally:
            sending.cancel()

    async def _send(self, socket: WebSocket) -> None:
        while (message := await self._queue.get()) is not END:
            await socket.send_json(message)
        await socket.close(REVOKED)

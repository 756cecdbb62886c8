"""Bodies are small and come at once: nobody fills the memory, or holds a connection half open.

Files are the exception: their routes take them as they come, once the right was checked.
"""

from __future__ import annotations

import asyncio
from http import HTTPStatus

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pullcall.api.guard.refusal import refuse

#: The largest request of the page is a few hundred bytes.
MOST_BYTES = 16 * 1024
#: A phone at the edge of the Wi-Fi sends it within this time, seconds.
PATIENCE_S = 10.0
#: Routes that take a file, see upload.py; they need the right to decide.
FILES = frozenset({"/api/v1/restore", "/api/v1/import"})


class _TooLargeError(Exception):
    """The body is larger than any request of the page."""


class Bodies:
    """Reads a request's body before the route does, up to a size and a time."""

    def __init__(
        self, app: ASGIApp, most: int = MOST_BYTES, patience_s: float = PATIENCE_S
    ) -> None:
        self._app = app
        self._most = most
        self._patience_s = patience_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] == "GET" or scope["path"] in FILES:
            await self._app(scope, receive, send)
            return
        try:
            async with asyncio.timeout(self._patience_s):
                body = await self._read(scope, receive)
        except _TooLargeError:
            detail = f"Send at most {self._most // 1024} KiB."
            await refuse(scope, receive, send, HTTPStatus.REQUEST_ENTITY_TOO_LARGE, detail)
            return
        except TimeoutError:
            detail = f"The request did not come whole within {self._patience_s:g} s: tap again."
            await refuse(scope, receive, send, HTTPStatus.REQUEST_TIMEOUT, detail)
            return
        await self._app(scope, _once(body, receive), send)

    async def _read(self, scope: Scope, receive: Receive) -> list[Message]:
        announced = Headers(scope=scope).get("content-length", "0")
        if announced.isascii() and announced.isdigit() and int(announced) > self._most:
            raise _TooLargeError
        messages: list[Message] = []
        size = 0
        while not messages or messages[-1].get("more_body"):
            messages.append(await receive())
            size += len(messages[-1].get("body", b""))
            if size > self._most:
                raise _TooLargeError
        return messages


def _once(messages: list[Message], receive: Receive) -> Receive:
    """Give the messages already read, then whatever comes after."""
    waiting = iter(messages)

    async def give() -> Message:
        message = next(waiting, None)
        return message if message is not None else await receive()

    return give

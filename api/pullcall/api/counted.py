"""Counts the streams that are open, whoever answers them."""

from __future__ import annotations

from contextlib import ExitStack

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pullcall.api.guard.rights import PREFIX
from pullcall.metrics.streams import Streams, Transport

#: How a stream is asked for, also below a site of a board.
_ASKED = (
    ("websocket", f"{PREFIX}/stream", Transport.WEBSOCKET),
    ("http", f"{PREFIX}/events", Transport.EVENTS),
)


class CountedStreams:
    """A middleware: a stream counts from the moment that it is let in until it ends."""

    def __init__(self, app: ASGIApp, streams: Streams) -> None:
        self._app = app
        self._streams = streams

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        transport = _transport(scope)
        if transport is None:
            await self._app(scope, receive, send)
            return
        with ExitStack() as stack:

            async def send_and_see(message: Message) -> None:
                if _lets_in(message):
                    stack.enter_context(self._streams.one(transport))
                await send(message)

            await self._app(scope, receive, send_and_see)


def _transport(scope: Scope) -> Transport | None:
    asked = (t for type, end, t in _ASKED if scope["type"] == type and scope["path"].endswith(end))
    return next(asked, None)


def _lets_in(message: Message) -> bool:
    return message["type"] == "websocket.accept" or message.get("status") == 200

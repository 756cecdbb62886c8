"""A websocket that can be handed frames made once for many, and that no peer can fill."""

from __future__ import annotations

from struct import pack

from uvicorn._types import ASGISendEvent
from uvicorn.protocols.utils import ClientDisconnected
from uvicorn.protocols.websockets.websockets_sansio_impl import WebSocketsSansIOProtocol
from websockets.http11 import Request

from pullcall.network.connection import Connection

#: The key of a ``websocket.send`` that holds whole frames, and of the extension that says so.
FRAMES = "pullcall.frames"
#: What may wait for a peer that goes on asking, bytes: more than any greeting.
_MOST_WAITING = 1024 * 1024
#: A whole message of text.
_TEXT = 0x81


def frame(text: str) -> bytes:
    """A text as one unmasked frame (RFC 6455, 5.2), which is the same for every peer."""
    data = text.encode()
    size = len(data)
    if size < 126:
        return pack("!BB", _TEXT, size) + data
    if size < 2**16:
        return pack("!BBH", _TEXT, 126, size) + data
    return pack("!BBQ", _TEXT, 127, size) + data


class StreamSocket(WebSocketsSansIOProtocol):
    """uvicorn's, with two additions that its parts have no setting for."""

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        Connection.unread.forget(self.transport)
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what came; each ping of the protocol is answered, whether or not it is read."""
        if self.transport.get_write_buffer_size() > _MOST_WAITING:
            self.transport.abort()
            return
        super().data_received(data)

    def handle_connect(self, event: Request) -> None:
        """Begin, and say what this socket can do."""
        super().handle_connect(event)
        if hasattr(self, "scope"):
            self.scope["extensions"][FRAMES] = {}

    async def send(self, message: ASGISendEvent) -> None:
        """Send a message, or frames as they are. Raises ClientDisconnected once it has ended."""
        if self.handshake_complete and self.close_sent and message["type"] == "websocket.send":
            raise ClientDisconnected  # it answered no ping; what was to be sent comes too late
        frames = message.get(FRAMES)
        if not isinstance(frames, bytes):
            await super().send(message)
            return
        await self.writable.wait()
        if self.disconnected or self.close_sent:
            raise ClientDisconnected
        self.transport.write(frames)

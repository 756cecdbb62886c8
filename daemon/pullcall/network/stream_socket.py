"""A websocket that can be handed frames made once for many, and that no peer can fill."""

from __future__ import annotations

from functools import lru_cache

from uvicorn._types import ASGISendEvent
from uvicorn.protocols.utils import ClientDisconnected
from uvicorn.protocols.websockets.websockets_sansio_impl import WebSocketsSansIOProtocol
from websockets.frames import Frame, Opcode
from websockets.http11 import Request

from pullcall.network.connection import Connection

#: The key of a ``websocket.send`` that holds whole frames, and of the extension that says so.
FRAMES = "pullcall.frames"
#: What may wait for a peer that goes on asking, bytes: more than any greeting.
_MOST_WAITING = 1024 * 1024
#: Texts that are kept as frames: those of some seconds, whoever is told them when.
_KEPT = 256


@lru_cache(maxsize=_KEPT)
def frame_of(text: str) -> bytes:
    """A text as the one unmasked frame that every peer gets."""
    return Frame(Opcode.TEXT, text.encode()).serialize(mask=False)


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

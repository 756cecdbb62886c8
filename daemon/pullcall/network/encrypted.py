"""TLS that costs little memory, and whose handshake has to come to an end."""

from __future__ import annotations

import asyncio
import ssl
from asyncio.sslproto import SSLProtocol
from typing import ClassVar, cast

from pullcall.network.callers import Callers
from pullcall.network.unread import Unread
from pullcall.network.wire import CountedWire

#: The largest record of TLS (RFC 8446, 5.1), bytes; asyncio would keep 256 KiB for each phone.
_RECORD = 16 * 1024
#: A phone at the edge of the Wi-Fi needs two round trips, seconds.
_HANDSHAKE_S = 10
_FAREWELL_S = 5


class Encrypted(SSLProtocol):
    """TLS below the connection that is served. Until its handshake is over nobody is behind it:
    those that wait in it are counted by themselves."""

    max_size = _RECORD
    #: A browser opens six at once; whoever is silent is gone after the handshake's deadline.
    callers: ClassVar[Callers[Encrypted]] = Callers(most=256, most_of_one=32)

    def __init__(
        self,
        loop: asyncio.AbstractEventLoop,
        inner: asyncio.Protocol,
        context: ssl.SSLContext,
        unread: Unread,
    ) -> None:
        shaken: asyncio.Future[None] = loop.create_future()
        super().__init__(
            loop,
            inner,
            context,
            shaken,
            server_side=True,
            ssl_handshake_timeout=_HANDSHAKE_S,
            ssl_shutdown_timeout=_FAREWELL_S,
        )
        self._unread = unread
        shaken.add_done_callback(self._has_shaken)

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Begin the handshake, or close it where its address has too many in one."""
        assert isinstance(transport, asyncio.Transport)
        self.wire = CountedWire(transport)
        self._address = (transport.get_extra_info("peername") or ("",))[0]
        self._unread.watch(self.wire)
        super().connection_made(cast(asyncio.Transport, self.wire))
        gone = self.callers.come(self._address, self)
        if gone is not None:
            gone.wire.abort()

    def connection_lost(self, exc: BaseException | None) -> None:
        """Forget it."""
        self._unread.forget(self.wire)
        self.callers.leave(self._address, self)
        super().connection_lost(exc)

    def _has_shaken(self, shaken: asyncio.Future[None]) -> None:
        shaken.cancelled() or shaken.exception()
        self.callers.leave(self._address, self)

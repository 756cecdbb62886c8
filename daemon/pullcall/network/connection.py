"""A connection to the page's server that nobody can keep for nothing."""

from __future__ import annotations

import asyncio
from typing import ClassVar, cast

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from pullcall.buckets import Buckets, Limit
from pullcall.network.callers import Callers
from pullcall.network.unread import Unread
from pullcall.network.wire import CountedWire

#: Connections from one address: several phones behind it may open a page at the same time.
OF_COMING = Limit(50.0, 400)
#: Whatever is asked from one address, of all phones behind it together.
OF_ADDRESS = Limit(200.0, 1000)
#: Set in a request's scope by whoever refuses it for coming too often.
RESTS = "pullcall.rests"
#: States of HTTP in which nothing is being answered: the next word is the peer's.
_THEIR_TURN = (h11.IDLE, h11.DONE)
#: What may wait for a peer before whoever sends has to wait, bytes.
_MOST_WAITING = 32 * 1024


class Connection(H11Protocol):
    """HTTP/1.1, with limits for each address, and for the time until a whole request is there.

    Websockets are not counted: they are opened by a phone's ticket, and each phone has its own
    limit. This machine itself has none.
    """

    #: A phone opens six at once, and several phones may share an address.
    callers: ClassVar[Callers[Connection]] = Callers(most=1024, most_of_one=128)
    #: How often an address may come, and how often it may ask.
    coming: ClassVar[Buckets] = Buckets(OF_COMING)
    asking: ClassVar[Buckets] = Buckets(OF_ADDRESS)
    #: Every wire there is, also those of websockets.
    unread: ClassVar[Unread] = Unread()
    #: A phone at the edge of the Wi-Fi sends a whole request within this time, seconds.
    first_request_s: ClassVar[float] = 10.0
    #: Whoever asks too often is not listened to for so long, seconds: that costs nothing.
    rest_s: ClassVar[float] = 1.0

    _deadline: asyncio.TimerHandle | None = None
    _rest: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take it in, or close it where its address has too many."""
        if transport.get_extra_info("sslcontext") is None:  # else its wire is watched already
            self.unread.watch(wire := CountedWire(transport))
            transport = cast(asyncio.Transport, wire)
        super().connection_made(transport)
        self._address = self.client[0] if self.client else ""
        transport.set_write_buffer_limits(high=_MOST_WAITING)
        gone = self.callers.come(self._address, self)
        if gone is not self and self._is_too_often(self.coming):
            self.callers.leave(self._address, self)
            transport.abort()
        if gone is not None:
            gone.transport.abort()
        self._mind_their_turn()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        self._forget()
        self.unread.forget(self.transport)
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what came; the rest of a request has to come soon."""
        super().data_received(data)
        self._mind_their_turn()

    def handle_events(self) -> None:
        """Answer what is there, unless this address has to rest."""
        if self._rest is None:
            super().handle_events()

    def on_response_complete(self) -> None:
        """An answer was sent: the next request is read when this address may ask again.

        Where a refusal was sent, only this connection rests: a phone that asks for too much is
        nobody else's fault.
        """
        if self._is_too_often(self.asking) or RESTS in self.scope:
            self._rest = self.loop.call_later(self.rest_s, self._rested)
        super().on_response_complete()
        if self._rest is not None:
            self.flow.pause_reading()

    def handle_websocket_upgrade(self, event: h11.Request) -> None:
        """Hand it on: it is a websocket's from now on."""
        self._forget()
        super().handle_websocket_upgrade(event)

    def _rested(self) -> None:
        self._rest = None
        self.flow.resume_reading()
        self.handle_events()

    def _mind_their_turn(self) -> None:
        """While the next word is theirs there is a deadline, which no single byte moves.

        Between two requests, while nothing comes, it is uvicorn's own and shorter.
        """
        if self.conn.our_state not in _THEIR_TURN:
            self.callers.hear(self._address, self)
            self._let_be()
        elif self._deadline is None:
            self._deadline = self.loop.call_later(self.first_request_s, self.transport.abort)

    def _let_be(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None

    def _is_too_often(self, buckets: Buckets) -> bool:
        is_own = self._address == "127.0.0.1"
        return not is_own and buckets.take(self._address, self.loop.time()) > 0.0

    def _forget(self) -> None:
        self._let_be()
        if self._rest is not None:
            self._rest.cancel()
            self._rest = None
        self.callers.leave(self._address, self)

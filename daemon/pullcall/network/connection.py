"""A connection to the page's server that nobody can keep for nothing."""

from __future__ import annotations

import asyncio
from collections import Counter
from typing import ClassVar

from uvicorn.protocols.http.h11_impl import H11Protocol


class Connection(H11Protocol):
    """HTTP/1.1, with a limit for each address and for the time until a whole request is there.

    Websockets are not counted: they are opened by a phone's ticket, and each phone has its own
    limit. This machine itself has none.
    """

    #: A phone opens six at once, and several phones may share an address.
    most_of_an_address: ClassVar[int] = 128
    #: A phone at the edge of the Wi-Fi sends its first request within this time, seconds.
    first_request_s: ClassVar[float] = 10.0

    _open: ClassVar[Counter[str]] = Counter()

    _address: str | None = None
    _deadline: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Count it, or close it where its address has too many."""
        super().connection_made(transport)
        address = self.client[0] if self.client else ""
        if self._open[address] >= self.most_of_an_address and not address.startswith("127."):
            transport.abort()
            return
        self._address = address
        self._open[address] += 1
        self._deadline = self.loop.call_later(self.first_request_s, self._close_if_silent)

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        self._forget()
        super().connection_lost(exc)

    def handle_websocket_upgrade(self, event: object) -> None:
        """Hand it on: it is a websocket's from now on."""
        self._forget()
        super().handle_websocket_upgrade(event)  # type: ignore[arg-type]

    def _close_if_silent(self) -> None:
        if not self.headers:  # none until a request is whole
            self.transport.abort()

    def _forget(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
        if self._address is None:
            return
        self._open[self._address] -= 1
        if not self._open[self._address]:
            del self._open[self._address]
        self._address = None

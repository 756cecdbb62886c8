"""A connection's own transport, below any encryption, and how much of it the peer has taken."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable
from typing import Any


class CountedWire:
    """Counts what is handed to a transport; all the rest is the transport's own.

    How much waits in it says nothing of who reads: an answer fills it up again as it empties.
    """

    def __init__(self, transport: asyncio.Transport) -> None:
        self._transport = transport
        self._handed = 0

    @property
    def taken(self) -> int:
        """Bytes that the peer has made room for so far."""
        return self._handed - self.get_write_buffer_size()

    def get_write_buffer_size(self) -> int:
        """Bytes that wait for the peer."""
        return self._transport.get_write_buffer_size()

    def abort(self) -> None:
        """End it at once; what waits is dropped."""
        self._transport.abort()

    def write(self, data: bytes) -> None:
        """Hand it some bytes."""
        self._handed += len(data)
        self._transport.write(data)

    def writelines(self, lines: Iterable[bytes]) -> None:
        """Hand it some bytes, in pieces."""
        self.write(b"".join(lines))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._transport, name)

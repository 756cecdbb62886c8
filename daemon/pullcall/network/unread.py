"""Finds connections that take nothing of what waits for them."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from typing import Protocol, cast

#: A phone in a dead corner of the Wi-Fi is back within two looks, or comes in anew, seconds.
LOOK_EVERY_S = 5.0
#: What has to be taken between two looks, bytes: less would keep a connection for next to nothing.
LEAST_BYTES = 8 * 1024


class Wire(Protocol):
    """A connection's own transport, below any encryption (see wire.py)."""

    @property
    def taken(self) -> int:
        """Bytes that the peer has made room for so far."""

    def get_write_buffer_size(self) -> int:
        """Bytes that the peer has not made room for yet."""

    def abort(self) -> None:
        """End it at once; what waits is dropped."""


class Unread:
    """Ends a wire where something waited at three looks on end, and too little went in between.

    Whether it is a stream, an answer or a farewell: a peer that never reads would keep it for good.
    """

    def __init__(self) -> None:
        self._waiting: dict[Wire, list[int]] = {}
        self._look_at = 0.0

    def __len__(self) -> int:
        return len(self._waiting)

    def watch(self, wire: Wire) -> None:
        """Look at this wire from now on."""
        self._waiting[wire] = []

    def forget(self, wire: Wire | asyncio.BaseTransport) -> None:
        """It is gone, if it was looked at."""
        self._waiting.pop(cast(Wire, wire), None)

    def look(self, now: float) -> None:
        """Look at all wires, once every ``LOOK_EVERY_S`` however often it is called."""
        if now < self._look_at:
            return
        self._look_at = now + LOOK_EVERY_S
        for wire in [*self._stuck()]:
            self.forget(wire)
            wire.abort()

    def _stuck(self) -> Iterator[Wire]:
        for wire, seen in self._waiting.items():
            waits = wire.get_write_buffer_size() > 0
            if not waits or (seen and wire.taken - seen[-1] >= LEAST_BYTES):
                seen.clear()
            if waits:
                seen.append(wire.taken)
            if len(seen) > 2:
                yield wire

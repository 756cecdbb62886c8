"""Finds connections that take nothing of what waits for them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

#: A phone in a dead corner of the Wi-Fi is back within two looks, or comes in anew, seconds.
LOOK_EVERY_S = 5.0
#: What has to go between two looks, bytes: less would keep a connection for next to nothing.
LEAST_BYTES = 8 * 1024


class Wire(Protocol):
    """A connection's own transport, below any encryption."""

    def get_write_buffer_size(self) -> int:
        """Bytes that the peer has not made room for yet."""

    def abort(self) -> None:
        """End it at once; what waits is dropped."""


class Unread:
    """Ends a wire where something waited at three looks on end, and not enough of it went.

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

    def forget(self, wire: Wire) -> None:
        """It is gone."""
        self._waiting.pop(wire, None)

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
            waits = wire.get_write_buffer_size()
            if not waits or (seen and seen[-1] - waits >= LEAST_BYTES):
                seen.clear()
            if waits:
                seen.append(waits)
            if len(seen) > 2:
                yield wire

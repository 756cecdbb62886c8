"""Bytes dealt out as choices and parts, so that one input can steer several arguments."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")


class Cards:
    """Deals from the front; past the end every byte is 0."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._at = 0

    @property
    def left(self) -> int:
        """How many bytes are left."""
        return max(0, len(self._data) - self._at)

    def byte(self) -> int:
        """The next byte as a number."""
        self._at += 1
        return self._data[self._at - 1] if self._at <= len(self._data) else 0

    def pick(self, among: Sequence[T]) -> T:
        """One of these, by the next byte."""
        return among[self.byte() % len(among)]

    def line(self) -> bytes:
        """Up to the next line feed, which is left out."""
        end = self._data.find(b"\n", self._at)
        end = len(self._data) if end < 0 else end
        part, self._at = self._data[self._at : end], end + 1
        return part

    def rest(self) -> bytes:
        """All that is left."""
        part, self._at = self._data[self._at :], len(self._data)
        return part

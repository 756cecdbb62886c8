"""Lines that wait for their time; what waits long is packed."""

from __future__ import annotations

import asyncio
import json
import zlib
from collections import deque
from collections.abc import Iterator
from dataclasses import astuple, dataclass

#: Lines are packed together: of so many seconds, or so many characters of them.
_BLOCK_S, _BLOCK_CHARS = 10.0, 65_536
#: Packed bytes past which it is full: ten minutes of a cook of two steaks take less than a third.
_MOST_BYTES = 4 * 1024 * 1024
#: The fastest, as curves and numbers pack well at any.
_LEVEL = 1


@dataclass(frozen=True, slots=True)
class Line:
    """A message as it is sent. ``epoch`` is a snapshot's; ``seq`` is None where it has none.

    ``is_note``: a snapshot for whoever joins, which tells those who follow nothing new.
    """

    type: str
    seq: int | None
    epoch: str | None
    text: str
    is_note: bool = False


@dataclass(frozen=True, slots=True)
class _Block:
    """Lines that were packed together."""

    packed: bytes

    def lines(self) -> Iterator[tuple[float, Line]]:
        """Each with when it is due."""
        for due, *line in json.loads(zlib.decompress(self.packed)):
            yield due, Line(*line)


class Held:
    """Holds lines in the order they come due, which is the order they come in.

    Those of ten seconds, or of 64 KiB, are packed together, so that but the block that comes due
    and the one that is filled lie open. It is full past ``most_bytes`` of packed blocks; whoever
    holds lines asks, for it takes whatever it is given.
    """

    def __init__(self, most_bytes: int = _MOST_BYTES) -> None:
        self._most_bytes = most_bytes
        self._due_next: deque[tuple[float, Line]] = deque()
        self._blocks: deque[_Block] = deque()
        self._filled: deque[tuple[float, Line]] = deque()
        self._filled_chars = 0
        self._came = asyncio.Event()
        #: What the packed blocks take, bytes.
        self.packed_bytes = 0

    @property
    def is_full(self) -> bool:
        """Whether no more should be held."""
        return self.packed_bytes > self._most_bytes

    def add(self, due: float, line: Line) -> None:
        """Hold a line until ``due``, monotonic seconds."""
        filled = self._filled
        if filled and (due - filled[0][0] >= _BLOCK_S or self._filled_chars >= _BLOCK_CHARS):
            self._pack()
        self._filled.append((due, line))
        self._filled_chars += len(line.text)
        self._came.set()

    async def next_due(self) -> float:
        """When the next line is due, as soon as there is one."""
        while (due := self._first_due()) is None:
            self._came.clear()
            await self._came.wait()
        return due

    def taken(self, now: float) -> Iterator[Line]:
        """Take out every line that is due."""
        while (due := self._first_due()) is not None and due <= now:
            yield self._due_next.popleft()[1]

    def _first_due(self) -> float | None:
        if not self._due_next:
            self._open_next()
        return self._due_next[0][0] if self._due_next else None

    def _open_next(self) -> None:
        if self._blocks:
            block = self._blocks.popleft()
            self.packed_bytes -= len(block.packed)
            self._due_next.extend(block.lines())
        else:
            self._due_next, self._filled = self._filled, self._due_next
            self._filled_chars = 0

    def _pack(self) -> None:
        rows = [(due, *astuple(line)) for due, line in self._filled]
        block = _Block(zlib.compress(json.dumps(rows).encode(), _LEVEL))
        self._blocks.append(block)
        self.packed_bytes += len(block.packed)
        self._filled.clear()
        self._filled_chars = 0

"""Things that come due in the order in which they were added."""

from __future__ import annotations

import asyncio
import math
from collections import deque
from typing import Generic, TypeVar

from pullcall.clock import Clock

_Item = TypeVar("_Item")
#: More than a cook makes in the seconds that anything waits; past it the oldest goes.
_LONGEST = 256


class Deadlines(Generic[_Item]):
    """Each item comes due ``wait_s`` seconds of ``clock`` after it was added.

    One that was due for ``void_s`` before anybody could take it (the machine was suspended) is
    left out.
    """

    def __init__(self, clock: Clock, wait_s: float, void_s: float = math.inf) -> None:
        self._clock = clock
        self._wait_s = wait_s
        self._void_s = void_s
        self._items: deque[tuple[float, _Item]] = deque(maxlen=_LONGEST)
        self._some = asyncio.Event()

    def add(self, item: _Item) -> None:
        """Let it come due, counted from now."""
        self._items.append((self._clock.monotonic() + self._wait_s, item))
        self._some.set()

    async def next(self) -> _Item:
        """The next item, once it is due."""
        while True:
            while not self._items:
                self._some.clear()
                await self._some.wait()
            await self._clock.sleep_until(self._items[0][0])
            due, item = self._items.popleft()
            if self._clock.monotonic() - due < self._void_s:
                return item

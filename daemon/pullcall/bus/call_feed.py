"""Publishes a site's calls, one after the other, as they are made."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import datetime

from pullcall.bus.call_queue import CallQueue
from pullcall.bus.publisher import Send
from pullcall.clock import Clock


class CallFeed:
    """Says beside a voice what is in ``calls``; ``wall`` tells the site's time of day."""

    def __init__(self, calls: CallQueue, clock: Clock, wall: Callable[[], datetime]) -> None:
        self._calls = calls
        self._clock = clock
        self._wall = wall
        self._news = asyncio.Event()

    def poke(self) -> None:
        """There may be a new one."""
        self._news.set()

    async def publish(self, send: Send) -> None:
        """Send each until cancelled; what was not confirmed is sent again."""
        while True:
            self._news.clear()
            call = self._calls.first(self._clock.monotonic(), self._wall())
            if call is None:
                await self._news.wait()
            else:
                await send(call)
                self._calls.sent()

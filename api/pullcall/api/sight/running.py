"""Keeps feeds for watchers going while somebody looks."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from pullcall.clock import Clock

_log = logging.getLogger(__name__)

#: A feed that failed begins again after this, seconds.
_AGAIN_S = 1.0
#: How often it is looked whether anybody looks, seconds.
_LOOK_S = 30.0


class Runs(Protocol):
    """A feed that has to run to have something to show."""

    @property
    def count(self) -> int:
        """How many pages listen."""

    async def run(self) -> None:
        """Feed until cancelled."""

    def close(self) -> None:
        """Let every page go."""


One = TypeVar("One", bound=Runs)


@dataclass(slots=True)
class _Entry(Generic[One]):
    feed: One
    seen: float  # when somebody last looked, monotonic seconds
    task: asyncio.Task[None] | None = None


class Running(Generic[One]):
    """Feeds by what is asked for. Each begins when it is first asked for.

    It ends once nobody has looked for ``idle_s``; None: never.
    """

    def __init__(self, clock: Clock, idle_s: float | None = None) -> None:
        self._clock = clock
        self._idle_s = idle_s
        self._entries: dict[Hashable, _Entry[One]] = {}
        self._new: asyncio.Queue[_Entry[One]] = asyncio.Queue()

    def __len__(self) -> int:
        return len(self._entries)

    def of(self, asked: Hashable, begin: Callable[[], One]) -> One:
        """The feed of what is asked for; ``begin()`` makes it where there is none yet."""
        now = self._clock.monotonic()
        entry = self._entries.get(asked)
        if entry is None:
            entry = self._entries[asked] = _Entry(begin(), now)
            self._new.put_nowait(entry)
        entry.seen = now
        return entry.feed

    async def run(self) -> None:
        """Run what is asked for until cancelled; then the streams of all end."""
        try:
            async with asyncio.TaskGroup() as tasks:
                if self._idle_s is not None:
                    tasks.create_task(self._look(self._idle_s), name="who looks at feeds")
                while True:
                    entry = await self._new.get()
                    run = self._keep_going(entry.feed)
                    entry.task = tasks.create_task(run, name="watched feed")
        finally:
            for entry in self._entries.values():
                entry.feed.close()

    async def _keep_going(self, feed: One) -> None:
        """What goes wrong with a feed for watchers is logged, and never touches the cook."""
        while True:
            try:
                await feed.run()
            except Exception:
                _log.exception("a feed for watchers failed; it begins again")
                feed.close()
                await self._clock.sleep_until(self._clock.monotonic() + _AGAIN_S)

    async def _look(self, idle_s: float) -> None:
        while True:
            await self._clock.sleep_until(self._clock.monotonic() + _LOOK_S)
            self._end_idle(self._clock.monotonic(), idle_s)

    def _end_idle(self, now: float, idle_s: float) -> None:
        for asked, entry in list(self._entries.items()):
            if entry.feed.count:
                entry.seen = now
            elif now - entry.seen >= idle_s and entry.task is not None:
                del self._entries[asked]
                entry.feed.close()
                entry.task.cancel()

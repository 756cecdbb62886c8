"""Keeps feeds for watchers going while somebody looks."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from functools import partial
from itertools import count
from typing import Generic, Protocol, TypeVar

from pullcall.clock import Clock
from pullcall.supervision import Edge, Edges

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
    edge: Edge
    seen: float  # when somebody last looked, monotonic seconds
    task: asyncio.Task[None] | None = None


class Running(Generic[One]):
    """Feeds by what is asked for. Each begins when it is first asked for.

    It ends once nobody has looked for ``idle_s``; None: never. One that fails is begun again alone,
    and told by its edge among ``edges``, which calls it ``name`` and its number.
    """

    def __init__(self, clock: Clock, edges: Edges, name: str, idle_s: float | None = None) -> None:
        self._clock = clock
        self._edges = edges
        self._names = (f"{name} {number}" for number in count(1))
        self._idle_s = idle_s
        self._entries: dict[Hashable, _Entry[One]] = {}
        self._asked = asyncio.Event()

    def __len__(self) -> int:
        return len(self._entries)

    def of(self, asked: Hashable, begin: Callable[[], One]) -> One:
        """The feed of what is asked for; ``begin()`` makes it where there is none yet."""
        now = self._clock.monotonic()
        entry = self._entries.get(asked)
        if entry is None:
            edge = self._edges.edge(next(self._names))
            entry = self._entries[asked] = _Entry(begin(), edge, now)
            self._asked.set()
        entry.seen = now
        return entry.feed

    async def run(self) -> None:
        """Run what is or was asked for until cancelled; then the streams of all end."""
        try:
            async with asyncio.TaskGroup() as tasks:
                if self._idle_s is not None:
                    tasks.create_task(self._look(self._idle_s), name="who looks at feeds")
                while True:
                    self._begin_all(tasks)
                    await self._asked.wait()
        finally:
            for entry in self._entries.values():
                entry.task = None

    def _begin_all(self, tasks: asyncio.TaskGroup) -> None:
        """Begin each that does not run: it is new, or this was itself begun again."""
        self._asked.clear()
        for entry in self._entries.values():
            if entry.task is None:
                kept = entry.edge.keep(partial(_fed, entry.feed))
                entry.task = tasks.create_task(kept, name=entry.edge.name)

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
                self._edges.forget(entry.edge.name)
                entry.task.cancel()


async def _fed(feed: Runs) -> None:
    """Run a feed; however it ends, its pages begin anew."""
    try:
        await feed.run()
    finally:
        feed.close()

"""When a life ends: moments at random from a seed, and moments that something is at work.

Nothing is built into the daemon for this: from outside one sees its files change, and knows when
its cook's whole seconds are.
"""

from __future__ import annotations

import asyncio
import math
import os
import signal
import time
from collections.abc import Awaitable, Callable, Iterator
from enum import StrEnum
from pathlib import Path
from random import Random
from typing import Protocol

from tests.crash.life import Life

#: How often a file is looked at while a change is awaited, seconds.
_LOOK_S = 0.0002
#: A checkpoint is near when the write-ahead log has so many pages; SQLite makes one at 1000.
NEAR_CHECKPOINT = 800
_M_X_FRAME = 16  # where the shared index says how many pages the log has (WAL-index header)


class Moment(StrEnum):
    """What the daemon is at when it is killed."""

    ANY = "any moment"
    START = "during start"
    RESUME = "while it takes up the cook"
    COMMIT = "in or just after a commit"
    ANNOUNCING = "when a call is logged and announced"
    SHUTDOWN = "during shutdown"
    MARK = "while a mark is answered"
    CHECKPOINT = "at a checkpoint"
    TWICE = "again, just after the start"
    CHANGE = "as another cook begins"


#: How many of a hundred kills; those at a change of cooks come as cooks end.
_SHARES = {
    Moment.ANY: 22,
    Moment.START: 10,
    Moment.RESUME: 12,
    Moment.COMMIT: 14,
    Moment.ANNOUNCING: 14,
    Moment.SHUTDOWN: 8,
    Moment.MARK: 12,
    Moment.CHECKPOINT: 3,
    Moment.TWICE: 5,
}


def planned(kills: int, rng: Random) -> Iterator[Moment]:
    """So many moments in their shares, shuffled."""
    chosen = [moment for moment, share in _SHARES.items() for _ in range(share * kills // 100)]
    chosen += [Moment.ANY] * (kills - len(chosen))
    rng.shuffle(chosen)
    yield from chosen


class Tapper(Protocol):
    """Somebody who taps a mark, or writes."""

    async def baste(self) -> None:
        """Tap it."""

    async def write(self) -> None:
        """Write a note."""


async def kill_at(moment: Moment, life: Life, people: Tapper, rng: Random) -> None:
    """Wait for the moment, and kill."""
    wait = _WAITS[moment]
    if moment not in (Moment.START, Moment.TWICE, Moment.RESUME):
        await life.ready()
    await wait(life, people, rng)
    if life.killed_at is None:
        life.signal_kill()


async def _any(life: Life, people: Tapper, rng: Random) -> None:
    """Now and then late enough for everything to sound again that has to."""
    await asyncio.sleep(rng.uniform(9.0, 14.0) if rng.random() < 0.1 else rng.uniform(0.0, 4.0))


async def _start(life: Life, people: Tapper, rng: Random) -> None:
    await asyncio.sleep(rng.uniform(0.0, 1.0) * life.usual_start_s)


async def _twice(life: Life, people: Tapper, rng: Random) -> None:
    await asyncio.sleep(rng.uniform(0.0, 0.3))


async def _resume(life: Life, people: Tapper, rng: Random) -> None:
    """One of the first commits of a life: late calls, the restart, the new zero, what sounds."""
    await _at_change(life, _wal(life), rng, changes=rng.randint(1, 6))


async def _commit(life: Life, people: Tapper, rng: Random) -> None:
    await asyncio.sleep(rng.uniform(0.0, 2.0))
    await _at_change(life, _wal(life), rng)


async def _announcing(life: Life, people: Tapper, rng: Random) -> None:
    """In a second in which a call is due: an alarm that sounds again, or the schedule's next."""
    at = life.zero() + _next_call_t(life)
    await asyncio.sleep(max(0.0, at - 0.002 - time.monotonic()))
    await _at_change(life, _wal(life), rng)


async def _shutdown(life: Life, people: Tapper, rng: Random) -> None:
    await asyncio.sleep(rng.uniform(0.0, 2.0))
    os.kill(life.pid, signal.SIGTERM)
    if rng.random() < 0.5:  # the last checkpoint, as the log is closed
        await _at_change(life, life.place.log, rng, patience_s=3.0)
    else:
        await asyncio.sleep(rng.uniform(0.0, 0.4))


async def _mark(life: Life, people: Tapper, rng: Random) -> None:
    await asyncio.sleep(rng.uniform(0.0, 2.0))
    tapping = asyncio.create_task(people.baste(), name="tap")
    await asyncio.sleep(rng.uniform(0.0, 0.02))
    life.signal_kill()
    await tapping


async def _checkpoint(life: Life, people: Tapper, rng: Random) -> None:
    """The database itself is written to only by a checkpoint."""
    watching = asyncio.create_task(_at_change(life, life.place.log, rng, patience_s=45.0))
    while not watching.done():
        await people.write()
        await asyncio.sleep(0.05)
    await watching


_WAITS: dict[Moment, Callable[[Life, Tapper, Random], Awaitable[None]]] = {
    Moment.ANY: _any,
    Moment.START: _start,
    Moment.RESUME: _resume,
    Moment.COMMIT: _commit,
    Moment.ANNOUNCING: _announcing,
    Moment.SHUTDOWN: _shutdown,
    Moment.MARK: _mark,
    Moment.CHECKPOINT: _checkpoint,
    Moment.TWICE: _twice,
}


async def _at_change(
    life: Life, file: Path, rng: Random, changes: int = 1, patience_s: float = 2.0
) -> None:
    """Kill up to two milliseconds after ``file`` was written to so many times.

    In a thread of its own, so that nothing comes between what is seen and the kill.
    """
    after_s = rng.uniform(0.0, 0.002)

    def watch() -> None:
        ends, left, known = time.monotonic() + patience_s, changes, _state(file)
        while left and time.monotonic() < ends:
            time.sleep(_LOOK_S)
            if (now := _state(file)) != known:
                known, left = now, left - 1
        time.sleep(after_s)
        life.signal_kill()

    await asyncio.to_thread(watch)


def _state(file: Path) -> tuple[int, int]:
    """Size and moment of the last write; zeros where there is no such file."""
    try:
        found = file.stat()
    except OSError:
        return 0, 0
    return found.st_size, found.st_mtime_ns


def _next_call_t(life: Life) -> float:
    """When a call is expected, cook seconds: within a quarter of a minute, or just any second."""
    now = time.monotonic() - life.zero()
    due: list[float] = []
    for message in (h.message for h in life.heard):
        if message["type"] == "schedule":
            due += [call["due_t"] for call in message["calls"]]
        elif message["type"] == "call":
            due += [message["t"] + (5.0 if message["priority"] == 1 else 15.0)]
    coming = [t for t in due if now + 0.05 < t < now + 15.0]
    return min(coming, default=math.ceil(now))


def log_pages(log: Path) -> int:
    """How many pages stand in the write-ahead log; 0 where there is none."""
    try:
        with Path(f"{log}-shm").open("rb") as file:
            file.seek(_M_X_FRAME)
            return int.from_bytes(file.read(4), "little")
    except OSError:
        return 0


def _wal(life: Life) -> Path:
    return Path(f"{life.place.log}-wal")

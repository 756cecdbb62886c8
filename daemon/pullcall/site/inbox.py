"""What waits for the cook: readings (the oldest go when it overflows) and people's inputs."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pullcall.errors import StoppingError
from pullcall.events import CookHeader, Input
from pullcall.sources.sink import ChannelReading

#: More than a minute of four probes at 2 Hz: only a stuck disk fills it.
_READINGS = 600
_STOPPING = "Pullcall is being stopped: once it is back, look whether this was taken."


@dataclass(frozen=True, slots=True)
class Request:
    """An input somebody waits for: made once its time is known, answered when it is logged."""

    make: Callable[[float], Input]
    answer: asyncio.Future[Input]
    at: float

    def settle(self, result: Input | Exception) -> None:
        """Answer whoever waits, if they still do."""
        if self.answer.done():
            return
        if isinstance(result, Exception):
            self.answer.set_exception(result)
        else:
            self.answer.set_result(result)


@dataclass(frozen=True, slots=True)
class NewCook:
    """Somebody wants the running cook ended and another begun ``like`` this; answered with the
    new id."""

    like: CookHeader
    answer: asyncio.Future[str]


@dataclass(frozen=True, slots=True)
class Missing:
    """The running cook has run so many seconds longer than was thought."""

    seconds: float


Item = ChannelReading | Request | NewCook | Missing
Chunk = list[ChannelReading] | Request | NewCook | Missing


class Inbox:
    """Filled from anywhere in the event loop, emptied by the cook's own task."""

    def __init__(self) -> None:
        self._waiting: deque[Item] = deque()
        self._readings = 0
        self._filled = asyncio.Event()
        self._unanswered: set[asyncio.Future[Any]] = set()
        self._is_closed = False
        self.dropped = 0

    def put(self, item: Item) -> None:
        """Add an item; people's inputs are never dropped."""
        if isinstance(item, Request | NewCook):
            self._await_answer(item.answer)
        if isinstance(item, ChannelReading):
            self._readings += 1
            if self._readings > _READINGS:
                self._drop_oldest_reading()
        self._waiting.append(item)
        self._filled.set()

    async def wait(self) -> None:
        """Return once something waits."""
        await self._filled.wait()

    def take_all(self) -> list[Item]:
        """Everything that waits, in the order it came."""
        items = list(self._waiting)
        self._waiting.clear()
        self._readings = 0
        self._filled.clear()
        return items

    def close(self) -> None:
        """Nothing is taken any more: whoever waits for an answer gets a StoppingError."""
        self._is_closed = True
        for answer in self._unanswered:
            if not answer.done():
                answer.set_exception(StoppingError(_STOPPING))

    def _await_answer(self, answer: asyncio.Future[Any]) -> None:
        if self._is_closed:
            answer.set_exception(StoppingError(_STOPPING))
            return
        self._unanswered.add(answer)
        answer.add_done_callback(self._unanswered.discard)

    def _drop_oldest_reading(self) -> None:
        oldest = next(item for item in self._waiting if isinstance(item, ChannelReading))
        self._waiting.remove(oldest)
        self._readings -= 1
        self.dropped += 1


def chunks(items: list[Item]) -> list[Chunk]:
    """Readings in a row are logged in one commit; a person's input alone, after a check."""
    found: list[Chunk] = []
    for item in items:
        if not isinstance(item, ChannelReading):
            found.append(item)
        elif found and isinstance(found[-1], list):
            found[-1].append(item)
        else:
            found.append([item])
    return found

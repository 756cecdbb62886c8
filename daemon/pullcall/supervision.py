"""Keeps what goes on around the calls alive: each part fails alone, is begun again, and says so."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from typing import Any, TypeVar

from pullcall.back_off import BackOff
from pullcall.clock import Clock
from pullcall.errors import PullcallError
from pullcall.mistakes import Mistakes, cause_of

_log = logging.getLogger(__name__)
T = TypeVar("T")

#: What went on for this long before it failed begins again with the shortest wait, seconds.
_LIVED_S = 60.0
#: How long a mistake that stopped nothing is shown, seconds.
_SHOWN_S = 60.0

Work = Callable[[], Coroutine[Any, Any, None]]


@dataclass(frozen=True, slots=True)
class Part:
    """Something that runs beside the calls: its name for people, and what begins it (anew).

    It is begun again however it ends; one that ``has_an_end`` only if it failed.
    """

    name: str
    begin: Work
    has_an_end: bool = False


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is wrong with a part now, as one sentence for people."""

    part: str
    note: str


class Edge:
    """Keeps one part going; whatever it raises is logged, noted and kept here."""

    def __init__(self, name: str, clock: Clock) -> None:
        self.name = name
        self._clock = clock
        self._back_off = BackOff()
        self._mistakes = Mistakes(_log, f'The part "{name}" has a mistake in it; the calls go on.')
        self._began = clock.monotonic()
        self._note = ""
        self._told = ""
        self._slip: tuple[float, str] | None = None

    @property
    def note(self) -> str:
        """What is wrong with it now, as one sentence; empty where nothing is."""
        if self._note or self._slip is None:
            return self._note
        at, sentence = self._slip
        return sentence if self._clock.monotonic() - at < _SHOWN_S else ""

    async def keep(self, begin: Work, *, has_an_end: bool = False) -> None:
        """Run it until cancelled, or to its end; after a fault, again, each time a little later."""
        while True:
            self._began = self._clock.monotonic()
            fault = await self._once(begin)
            if has_an_end and not fault:
                return
            if self._has_lived():
                self._back_off.reset()
            wait_s = self._back_off.next()
            self._note = f"{fault or self._ended()} It is tried again within {wait_s:.0f} s."
            await self._clock.sleep_until(self._clock.monotonic() + wait_s)
            self._note = ""

    def works(self) -> None:
        """It did what it is for: should it fail again, it is begun again soon."""
        self._back_off.reset()
        self._slip = None
        if self._told:
            self._told = ""
            _log.info('The part "%s" works again.', self.name)

    def guard(self, act: Callable[[], T]) -> T | None:
        """What ``act`` gives; None where it raises, which is noted and ends nothing."""
        try:
            return act()
        except Exception as mistake:
            self._mistakes.fault(mistake)
            note = f'The part "{self.name}" made a mistake ({type(mistake).__name__}): start '
            self._slip = self._clock.monotonic(), f"{note}Pullcall again if this stays."
            return None

    async def _once(self, begin: Work) -> str:
        """Run it once; gives what was wrong, as a sentence."""
        try:
            await begin()
        except Exception as mistake:
            if _is_trouble(mistake):
                return self._tell(str(cause_of(mistake)))
            self._told = self._mistakes.fault(mistake)
            return f'The part "{self.name}" {self._told}.'
        except asyncio.CancelledError:
            task = asyncio.current_task()
            if task is None or task.cancelling():
                raise
            # Something inside was cancelled, and nobody cancelled this: it would be gone unseen.
            return self._tell(f'The part "{self.name}" was cancelled by a mistake.')
        return ""

    def _ended(self) -> str:
        return self._tell(f'The part "{self.name}" ended.')

    def _tell(self, sentence: str) -> str:
        """Into the journal, once until it works for a while or something else is wrong."""
        if sentence != self._told or self._has_lived():
            self._told = sentence
            _log.warning("%s It is tried again by itself; the calls go on.", sentence)
        return sentence

    def _has_lived(self) -> bool:
        """Whether it went on for so long that what was wrong before is over."""
        return self._clock.monotonic() - self._began >= _LIVED_S


def _is_trouble(error: Exception) -> bool:
    """Whether it says what somebody has to do, and no mistake is hidden beside it in a group."""
    if isinstance(error, ExceptionGroup):
        return error.split(PullcallError)[1] is None
    return isinstance(error, PullcallError)


class Edges:
    """Every part around the calls, by its name. ``clock`` is the machine's own."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._edges: dict[str, Edge] = {}

    def edge(self, name: str) -> Edge:
        """The edge of that name, made at the first question."""
        if name not in self._edges:
            self._edges[name] = Edge(name, self._clock)
        return self._edges[name]

    def forget(self, name: str) -> None:
        """There is no such part any more; what was wrong with it is of no matter."""
        self._edges.pop(name, None)

    async def keep(self, *parts: Part) -> None:
        """Keep these going until cancelled, or until each of them that has an end is over."""
        async with asyncio.TaskGroup() as tasks:
            for part in parts:
                kept = self.edge(part.name).keep(part.begin, has_an_end=part.has_an_end)
                tasks.create_task(kept, name=part.name)

    def troubles(self) -> tuple[Trouble, ...]:
        """What is wrong now, in a stable order."""
        notes = ((edge.name, edge.note) for edge in self._edges.values())
        return tuple(Trouble(name, note) for name, note in notes if note)

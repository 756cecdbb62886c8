"""When each step begins, given how long each takes: one set of rules for plan and chance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import reduce

import numpy as np

from pullcall.events import MarkKind
from pullcall.plan.day import Day, Key
from pullcall.plan.lengths import Seconds
from pullcall.plan.progress import Progress


@dataclass(slots=True)
class Chain:
    """One run through the day, every step as soon as it can be.

    Marks stand as they are; nothing else begins before ``soonest`` (one value per sample), nor
    before its entry in ``not_before``. ``progress`` is settled.
    """

    day: Day
    progress: Progress
    takes_s: Mapping[Key, Seconds]
    soonest: Seconds
    not_before: Mapping[Key, float] = field(default_factory=dict)
    begins: dict[Key, Seconds] = field(default_factory=dict)
    #: When each steak may go into the box.
    ready: dict[str, Seconds] = field(default_factory=dict)

    def run(self) -> Chain:
        """Work out ``begins`` for every step, ``ready`` for every steak."""
        done = self.progress.done.get
        self._begin("season")
        self._begin("cold", self._end("season"), done=done(MarkKind.SEASONED))
        self._begin("fetch", self._end("cold"))
        fetched = self._or(done(MarkKind.FETCHED), self._end("fetch"))
        self._begin("light", done=done(MarkKind.LIT))
        self._begin("pour", self._end("light"))
        self._begin("heat_up", self._end("pour"), done=done(MarkKind.POURED))
        hot = self.soonest if self.progress.grate_over_floor else self._end("heat_up")
        self._put_on(np.maximum(fetched, hot))
        return self

    def box(self, ready: Seconds) -> Seconds:
        """When a box closed over what is ``ready`` is handed in, unless it waits for opens."""
        boxed = self.progress.first("boxed_t")
        box = self._soonest(("box", None), ready)
        end = self._or(boxed, box + self.takes_s["box", None])
        walk = self._soonest(("walk", None), end)
        self.begins["box", None] = box
        self.begins["walk", None] = walk
        return walk + self.takes_s["walk", None]

    def first(self) -> Seconds:
        """When the first steak may go into the box."""
        return reduce(np.minimum, self.ready.values())

    def last(self) -> Seconds:
        """When all steaks may, and the better one can be chosen."""
        return reduce(np.maximum, self.ready.values())

    def chosen(self, closes_t: float) -> Seconds:
        """When the box is filled: with all to choose from, or the first if that is too late."""
        last = self.last()
        return np.where(self.box(last) <= closes_t, last, self.first())

    def _put_on(self, ready: Seconds) -> None:
        """Each steak on, the later ones by the offset after the first; then off, and rested."""
        first: Seconds | None = None
        for place, name in enumerate(self.day.names()):
            own = self.progress.steak(name)
            offset_s = place * self.day.offset_s
            after = ready if first is None else first + offset_s
            on = self._or(own.on_t, self._soonest(("cook", name), np.maximum(ready, after)))
            first = on if first is None else first
            off = self._or(own.off_t, on + self.takes_s["cook", name])
            self.begins["cook", name], self.begins["rest", name] = on, off
            rested = off + self.takes_s["rest", name]
            self.ready[name] = self._or(own.boxed_t, rested)

    def _begin(self, name: str, *after: Seconds, done: float | None = None) -> None:
        key = (name, None)
        self.begins[key] = self._or(done, self._soonest(key, *after))

    def _end(self, name: str) -> Seconds:
        key = (name, None)
        return self.begins[key] + self.takes_s[key]

    def _soonest(self, key: Key, *after: Seconds) -> Seconds:
        wait = self.not_before.get(key)
        begin = self.soonest if wait is None else np.maximum(self.soonest, wait)
        return reduce(np.maximum, after, begin)

    def _or(self, done: float | None, otherwise: Seconds) -> Seconds:
        return otherwise if done is None else np.full_like(otherwise, done)

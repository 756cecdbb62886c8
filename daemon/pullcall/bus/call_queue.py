"""Announcements on their way out; one that would mislead is dropped."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

from pullcall.bus.channels import CALL
from pullcall.bus.numbers import Numbers
from pullcall.bus.publication import Json, Publication

#: How long a call without ``in_s`` may be late, real seconds, by priority (a judgement: what has
#: to be done within seconds, within minutes, or later).
_LASTS_S = {1: 10.0, 2: 30.0, 3: 300.0}
#: Calls that wait at most; the oldest goes first.
_MOST = 64


def lasts_s(call: Json, age_s: float, speed: float) -> float:
    """How long an announcement of a call made ``age_s`` ago stays true from now, real seconds.

    ``speed`` is how many times faster than life the cook's clock runs.
    """
    if call["in_s"] is None:
        return _LASTS_S[call["priority"]] - age_s
    return max(1.0, float(call["in_s"]) / speed) - age_s


@dataclass(frozen=True, slots=True, eq=False)
class _Waiting:
    payload: bytes
    until: float


class CallQueue:
    """First in, first out. ``dropped`` counts those that were not sent in time."""

    def __init__(self, site: str, numbers: Numbers) -> None:
        self.dropped = 0
        self._topic = CALL.topic(site)
        self._numbers = numbers
        self._waiting: deque[_Waiting] = deque()
        self._shown: _Waiting | None = None

    def put(self, payload: bytes, left_s: float, now: float) -> None:
        """Queue an announcement that stays true for ``left_s`` seconds."""
        if len(self._waiting) == _MOST:
            self._drop()
        self._waiting.append(_Waiting(payload, now + left_s))

    def first(self, now: float) -> Publication | None:
        """What is to be sent next; it stays the first until :meth:`sent`."""
        while self._waiting and self._waiting[0].until <= now:
            self._drop()
        if not self._waiting:
            return None
        self._shown = shown = self._waiting[0]
        left_s = max(1, math.floor(shown.until - now))
        user = self._numbers.next()
        return Publication(self._topic, shown.payload, CALL.qos, CALL.retained, left_s, user)

    def sent(self) -> None:
        """The broker has what :meth:`first` gave."""
        if self._waiting and self._waiting[0] is self._shown:  # else it was dropped meanwhile
            self._waiting.popleft()

    def _drop(self) -> None:
        self._waiting.popleft()
        self.dropped += 1

"""A site shown to home automation by the Homie convention: few topics, slow, nothing to set.

It has a connection of its own, because MQTT knows one last will for each.
"""

from __future__ import annotations

import math
from collections import deque

from pullcall.bus.homie_device import description, properties, values
from pullcall.bus.mirror import Mirror
from pullcall.bus.options import SiteOptions
from pullcall.bus.publication import Json, Leaving, Publication

#: A value is sent at most so often, seconds.
SLOW_S = 1.0
#: The convention's own advice: exactly once.
QOS = 2
#: Retained for good, as the convention has it: a device without a state is one that was removed.
FOR_GOOD_S = 0xFFFF_FFFF
#: A message without a byte makes the broker forget a value.
_FORGOTTEN = b""


class Homie:
    """A :class:`pullcall.bus.publication.Voice` that speaks of one device."""

    def __init__(self, options: SiteOptions) -> None:
        self._name = options.name
        self._root = f"homie/5/pullcall-{options.site}"
        self._mirror = Mirror()
        self._waiting: deque[Publication] = deque()
        self._steaks: tuple[str, ...] | None = None  # as described on this connection
        self._said: dict[str, tuple[str | None, float]] = {}  # and when, by the property

    def take(self, message: Json, now: float) -> None:
        """Learn from one message of the stream."""
        self._mirror.learn(message, now)

    def begin(self) -> None:
        """Begin anew: nothing is known of what the broker still has."""
        self._waiting = deque([self._state("init")])
        self._steaks = None
        self._said.clear()

    def next(self, now: float) -> Publication | None:
        """What is to be sent next: the device whole, then each value that changed."""
        if self._waiting:
            return self._waiting.popleft()
        if self._mirror.clock is None:
            return None
        if self._mirror.names != self._steaks:
            self._introduce(now)
            return self._waiting.popleft()
        return self._changed(now)

    def due_in(self, now: float) -> float:
        """Seconds until a value that changed may be sent; infinity where none did."""
        if self._waiting:
            return 0.0
        if self._mirror.clock is None:
            return math.inf
        if self._mirror.names != self._steaks:
            return 0.0
        said = values(self._mirror, now)
        waits = (at + SLOW_S - now for id, (was, at) in self._said.items() if said.get(id) != was)
        return max(0.0, min(waits, default=math.inf))

    def last_will(self) -> Publication:
        """That it is lost."""
        return self._state("lost")

    def farewell(self, how: Leaving) -> Publication:
        """That it was disconnected in order, or is lost."""
        return self._state("disconnected" if how == "gone" else "lost")

    def _state(self, state: str) -> Publication:
        return self._message("$state", state.encode())

    def _introduce(self, now: float) -> None:
        """The description may change in the state "init" alone, and the values follow it."""
        if self._steaks is not None:
            self._waiting.append(self._state("init"))
        self._steaks = self._mirror.names
        told = description(self._name, self._steaks)
        self._waiting.append(self._message("$description", told.encode()))
        said, here = values(self._mirror, now), properties(self._steaks)
        for id in [id for id in self._said if id not in here]:
            del self._said[id]
            self._waiting.append(self._message(id, _FORGOTTEN))
        self._waiting += [self._value(id, said.get(id), now) for id in here]
        self._waiting.append(self._state("ready"))

    def _changed(self, now: float) -> Publication | None:
        """The value that changed and has been waiting longest."""
        said = values(self._mirror, now)
        due = [
            (at, id)
            for id, (was, at) in self._said.items()
            if said.get(id) != was and at + SLOW_S <= now
        ]
        if not due:
            return None
        _, id = min(due)
        return self._value(id, said.get(id), now)

    def _value(self, id: str, value: str | None, now: float) -> Publication:
        self._said[id] = (value, now)
        return self._message(id, _FORGOTTEN if value is None else value.encode())

    def _message(self, place: str, payload: bytes) -> Publication:
        return Publication(f"{self._root}/{place}", payload, QOS, True, FOR_GOOD_S)

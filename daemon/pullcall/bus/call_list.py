"""The calls that pages show: the last ones, and every alarm that lives."""

from __future__ import annotations

from collections.abc import Iterable

from pullcall.bus.publication import Json
from pullcall.calls.alarm import CallState
from pullcall.calls.rules import ALARMS

_SHOWN = 20


class CallList:
    """Holds each call once, in its latest form, and those that are to be announced."""

    def __init__(self) -> None:
        self._calls: list[Json] = []
        self._new: list[Json] = []
        self._latest_t = 0.0

    def start(self, calls: Iterable[Json], goes_on: bool) -> None:
        """Begin from a snapshot. Of a cook that goes on, what was missed is announced still."""
        self._calls = [dict(call) for call in calls]
        if goes_on:
            self._new += [call for call in self._calls if call["t"] > self._latest_t]
        self._latest_t = max((call["t"] for call in self._calls), default=0.0)

    def announce(self, call: Json) -> None:
        """Add a call, or an alarm that sounds again; one only shown again stays in place."""
        self._new.append(call)
        self._latest_t = max(self._latest_t, call["t"])
        for place, known in enumerate(self._calls):
            if (known["id"], known["t"]) == (call["id"], call["t"]):
                self._calls[place] = dict(call)
                return
        self._calls = [known for known in self._calls if known["id"] != call["id"]]
        self._calls.append(dict(call))
        older = self._calls[:-_SHOWN]
        self._calls = [c for c in older if _lives(c)] + self._calls[-_SHOWN:]

    def change(self, id: str, state: str) -> None:
        """A call was answered, put aside or ended."""
        for call in self._calls:
            if call["id"] == id:
                call["state"] = state

    def shown(self) -> list[Json]:
        """All of them, oldest first."""
        return list(self._calls)

    def take_new(self) -> list[Json]:
        """Those that are to be announced, each given once."""
        new, self._new = self._new, []
        return new


def _lives(call: Json) -> bool:
    return call["call"] in ALARMS and call["state"] != CallState.CLEARED

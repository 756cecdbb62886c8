"""What sounded when the daemon ended, as far as the last lines of the log tell.

To go through a long cook again takes seconds. An alarm that must be acted on in seconds is heard
again before that, from the log alone; the core then says whether it still stands.
"""

from __future__ import annotations

import json
import logging
import math
from dataclasses import dataclass
from typing import Any

from pullcall.events import CallKind
from pullcall.log.cook_entry import CookEntry
from pullcall.log.spill import waiting_in
from pullcall.log.store import Store

_log = logging.getLogger(__name__)

#: Such an alarm is logged every five seconds for as long as it sounds; this is more than a restart
#: takes, and after a longer stop the core decides, seconds.
_LATELY_S = 30.0
_ALARMS = frozenset({CallKind.PULL_NOW, CallKind.OVER})
#: What comes by itself. Anything else was done by a person, who may have answered an alarm.
_BY_ITSELF = frozenset({"reading", "reached", "condition", "restart", "omission"})


@dataclass(frozen=True, slots=True)
class Standing:
    """Steaks whose pull was being called, and all steaks in the cook's order."""

    steaks: tuple[str, ...]
    order: tuple[str, ...]


def standing(store: Store, boot: str, monotonic: float) -> Standing | None:
    """The pull that nobody answered when the daemon ended a moment ago; None where there is none.

    Never raises: whatever is wrong with the log is told by those who need it.
    """
    try:
        running = [entry for entry in store.cooks() if entry.ended is None]
        return _of(running[-1], store, boot, monotonic) if running else None
    except Exception:
        _log.debug("the log does not tell what sounded", exc_info=True)
        return None


def _of(entry: CookEntry, store: Store, boot: str, monotonic: float) -> Standing | None:
    if entry.boot != boot or waiting_in(store.path):  # what waits may be an answer
        return None
    since = monotonic - entry.zero_monotonic - _LATELY_S
    told = [json.loads(line) for line in store.call_lines(entry.id)[-20:]]
    pulls = _Pulls([call for call in told if call["call"] in _ALARMS and call["t"] >= since])
    for line in store.lines_since(entry.id, pulls.earliest_t):
        record = json.loads(line)
        if record["record"] not in _BY_ITSELF:
            pulls.answered(record)
    if not pulls.last_t:
        return None
    return Standing(tuple(pulls.last_t), tuple(steak.steak for steak in entry.header.steaks))


class _Pulls:
    """When the pull of each steak was called last, cook seconds, until somebody did something."""

    def __init__(self, pulls: list[dict[str, Any]]) -> None:
        self.last_t: dict[str, float] = {}
        self._steaks: dict[str, list[str]] = {}  # by the id of the call
        for call in pulls:
            self._steaks[call["id"]] = _steaks(call)
            for steak in _steaks(call):
                self.last_t.pop(steak, None)
                self.last_t[steak] = call["t"]

    @property
    def earliest_t(self) -> float:
        """Before this nobody can have answered any of them."""
        return min(self.last_t.values(), default=math.inf)

    def answered(self, record: dict[str, Any]) -> None:
        """A person's input: what it may have answered does not stand any more."""
        concerned = self._steaks.get(record.get("call", ""), _steaks(record) or [*self.last_t])
        for steak in concerned:
            if self.last_t.get(steak, math.inf) <= record["t"]:
                del self.last_t[steak]


def _steaks(record: dict[str, Any]) -> list[str]:
    steak = record.get("steak")
    return steak if isinstance(steak, list) else [steak] if steak else []

"""What sounded when the daemon ended, as far as the last lines of the log tell.

To go through a long cook again takes seconds. An alarm that must be acted on in seconds is heard
again before that, from the log alone; the core then says whether it still stands.
"""

from __future__ import annotations

import json
import logging
from dataclasses import dataclass
from typing import Any

from pullcall.events import CallKind
from pullcall.log.store import CookEntry, Store

_log = logging.getLogger(__name__)

#: Such an alarm is logged every five seconds for as long as it sounds; this is more than a restart
#: takes, and after a longer stop the core decides, seconds.
_LATELY_S = 30.0
_ALARMS = frozenset({CallKind.PULL_NOW, CallKind.OVER})
#: What comes by itself. Anything else was done by a person, who may have answered the alarm.
_BY_ITSELF = frozenset({"reading", "reached", "condition", "restart"})


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
    if entry.boot != boot:
        return None
    since = monotonic - entry.zero_monotonic - _LATELY_S
    told = [json.loads(line) for line in store.call_lines(entry.id)[-20:]]
    pulls = [call for call in told if call["call"] in _ALARMS and call["t"] >= since]
    if not pulls:
        return None
    after = [json.loads(line) for line in store.lines_since(entry.id, pulls[-1]["t"])]
    if any(record["record"] not in _BY_ITSELF for record in after):
        return None
    names = dict.fromkeys(name for call in pulls[-2:] for name in _steaks(call))
    return Standing(tuple(names), tuple(steak.steak for steak in entry.header.steaks))


def _steaks(call: dict[str, Any]) -> list[str]:
    steak = call["steak"]
    return steak if isinstance(steak, list) else [steak] if steak else []

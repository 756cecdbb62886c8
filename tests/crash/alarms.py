"""Alarms that nobody answered: which lived at a kill, and when they sounded again after it."""

from __future__ import annotations

from tests.crash.life import Life

#: Planned calls and holds are made and are over; all else lives until its cause is gone.
_NO_ALARMS = ("turn", "flip", "pull_hold", "pull_soon")
#: A life has had the time to sound an alarm again, seconds after it was ready.
LONG_ENOUGH_S = 8.0


def unanswered(life: Life, before: set[str]) -> set[str]:
    """The ids of the alarms that lived unanswered at the end of a life, as its page knew it.

    ``before`` are those of the life before: this one may have ended before it could tell any.
    """
    live = set(before)
    for message in (heard.message for heard in life.heard):
        if message["type"] == "snapshot":
            live = {c["id"] for c in message["calls"] if _lives(c)}
        elif message["type"] == "call" and _lives(message):
            live.add(message["id"])
        elif message["type"] == "call_state":
            live.discard(message["id"])
            if message["state"] == "unacknowledged":
                live.add(message["id"])
    return live


def sounded_at(life: Life, alarms: set[str]) -> float | None:
    """When the first of these was announced in a life, on the monotonic clock; None: not."""
    return next((h.at for h in life.calls() if h.message["id"] in alarms), None)


def _lives(call: dict[str, object]) -> bool:
    return call["call"] not in _NO_ALARMS and call["state"] == "unacknowledged"

"""The board's own alarm: something is on, and its site is not heard, or was stopped."""

from __future__ import annotations

from typing import Any

from pullcall.board.contact import Reach
from pullcall.board.mirror import Mirror
from pullcall.calls.alarm import CallState
from pullcall.calls.rules import URGENT_S
from pullcall.core.phase import Phase

Json = dict[str, Any]

#: No steak is on any more this long after its site was last heard, seconds: nobody marked it off.
_LONGEST_ON_S = 7200.0
_WORDS = {
    Reach.SILENT: "Nothing is heard of it: look after its steaks",
    Reach.LOST: "It is cut off: look after its steaks",
    Reach.GONE: "It was switched off: look after its steaks",
}


def own_alarm(mirror: Mirror, now: float) -> Json | None:
    """The alarm of a site that is silent, lost or gone with something on, as a row has it.

    It is urgent where a pull is due within two minutes, or was.
    """
    words = _WORDS.get(mirror.contact.reach(now))
    if words is None:
        return None
    on = [steak for steak, lane in mirror.state.shown() if _is_on(lane.steak)]
    since_t = mirror.contact.left_t
    if not on or now - since_t > _LONGEST_ON_S:
        return None
    return {
        "call": str(mirror.contact.reach(now)),
        "text": words,
        "priority": 1 if _pull_is_near(mirror, now) else 2,
        "steaks": on,
        "state": str(CallState.UNACKNOWLEDGED),
        "since_t": round(since_t, 1),
    }


def _is_on(steak: Any) -> bool:
    return steak is not None and steak.phase is Phase.ON


def _pull_is_near(mirror: Mirror, now: float) -> bool:
    for _, lane in mirror.state.shown():
        if _is_on(lane.steak) and lane.forecast and lane.forecast.pull_in_s:
            due_t = mirror.clock.at(lane.forecast.t + lane.forecast.pull_in_s.p50)
            if due_t is not None and due_t - now <= URGENT_S:
                return True
    return False

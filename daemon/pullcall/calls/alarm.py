"""One alarm instance: raised once, sounding until answered, ended when its cause is gone."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from pullcall.calls.rules import AlarmRule
from pullcall.events import Call


class CallState(StrEnum):
    """Where a call or alarm stands."""

    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    CLEARED = "cleared"


@dataclass(frozen=True, slots=True)
class StateChange:
    """A call or alarm was answered or ended at ``t``; ``by`` says who answered."""

    t: float
    id: str
    state: CallState
    by: str = ""


@dataclass(slots=True)
class Alarm:
    """A live alarm of one steak."""

    call: Call
    rule: AlarmRule
    state: CallState = CallState.UNACKNOWLEDGED
    sounded_t: float = 0.0

    def is_due(self, now: float) -> bool:
        """Whether it has to sound again."""
        silent = now - self.sounded_t >= self.rule.repeat_s
        return self.state is CallState.UNACKNOWLEDGED and silent

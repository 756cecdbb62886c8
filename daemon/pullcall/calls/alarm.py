"""One alarm instance: raised once, sounding until answered, ended when its cause is gone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from pullcall.calls.rules import ALARMS, INSISTENT_S
from pullcall.events import CallKind


class CallState(StrEnum):
    """Where a call or alarm stands."""

    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    SHELVED = "shelved"
    CLEARED = "cleared"


@dataclass(frozen=True, slots=True)
class StateChange:
    """A call or alarm was answered, put aside or ended at ``t``; ``by`` says who answered."""

    t: float
    id: str
    state: CallState
    by: str = ""


@dataclass(frozen=True, slots=True)
class Cause:
    """Why there ought to be an alarm now. ``of`` is a steak, or what else it concerns.

    A cause whose ``worse`` grows raises its alarm again, whoever answered it before.
    """

    call: CallKind
    of: str
    priority: int
    words: str
    steaks: tuple[str, ...] = ()
    worse: int = 0


@dataclass(slots=True)
class Alarm:
    """A live alarm. Times are cook seconds; ``sounded_t`` is minus infinity until first heard."""

    id: str
    cause: Cause
    state: CallState = CallState.UNACKNOWLEDGED
    sounded_t: float = -math.inf
    since_t: float = 0.0
    shelved_until: float = math.inf
    was_heard: bool = False

    def due_t(self) -> float:
        """When it has to sound next; infinity: not again."""
        if self.state is not CallState.UNACKNOWLEDGED:
            return math.inf
        if self.sounded_t == -math.inf:
            return self.since_t
        repeat = ALARMS[self.cause.call].repeat_s[self.cause.priority - 1]
        return math.inf if repeat is None else self.sounded_t + repeat

    def is_insistent(self, now: float) -> bool:
        """Whether it goes on without a pause: urgent, and unanswered for too long."""
        urgent = self.cause.priority == 1 and ALARMS[self.cause.call].insists
        return urgent and now - self.since_t >= INSISTENT_S

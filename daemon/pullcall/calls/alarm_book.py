"""Every live alarm: raised when its cause appears, ended when the cause is gone."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator

from pullcall.calls.alarm import Alarm, CallState, Cause, StateChange
from pullcall.calls.rules import ALARMS, URGENT_GAP_S
from pullcall.calls.wish import Wish
from pullcall.events import CallKind

_Key = tuple[CallKind, str]


class AlarmBook:
    """Keeps one instance per kind and steak (or whatever else it concerns)."""

    def __init__(self, new_id: Callable[[], str]) -> None:
        self._alarms: dict[_Key, Alarm] = {}
        self._standing: dict[_Key, float] = {}
        self._new_id = new_id

    def live(self) -> tuple[Alarm, ...]:
        """The alarms that have not ended and were heard at least once."""
        return tuple(alarm for alarm in self._alarms.values() if alarm.was_heard)

    def find(self, id: str) -> Alarm | None:
        """The live alarm of this id."""
        return next((alarm for alarm in self._alarms.values() if alarm.id == id), None)

    def follow(self, causes: Iterable[Cause], now: float) -> list[StateChange]:
        """Raise, change and end alarms so that there is one for each cause."""
        by_key = {(cause.call, cause.of): cause for cause in causes}
        self._standing = {key: self._standing.get(key, now) for key in by_key}
        gone = [key for key in self._alarms if key not in by_key]
        changes = [change for key in gone for change in self._end(key, now)]
        for key, cause in by_key.items():
            changes += self._see(key, cause, now)
        return changes

    def wishes(self, now: float) -> Iterator[Wish]:
        """The alarms that have to sound, and urgent ones whose turn comes in a moment."""
        for alarm in self._alarms.values():
            ahead = URGENT_GAP_S if alarm.cause.priority == 1 else 0.0
            if alarm.due_t() <= now + ahead:
                yield self._wish(alarm, now)

    def acknowledge(self, id: str, by: str, now: float) -> list[StateChange]:
        """Answer an alarm; answering twice changes nothing."""
        alarm = self.find(id)
        if alarm is None or alarm.state is CallState.ACKNOWLEDGED:
            return []
        alarm.state = CallState.ACKNOWLEDGED
        return [StateChange(now, id, alarm.state, by)]

    def shelve(self, id: str, by: str, until: float, now: float) -> list[StateChange]:
        """Put an alarm aside until ``until``; then it sounds again if its cause is still there."""
        alarm = self.find(id)
        if alarm is None or alarm.cause.priority == 1:
            return []
        alarm.state, alarm.shelved_until = CallState.SHELVED, until
        return [StateChange(now, id, alarm.state, by)]

    def sound_again(self, now: float) -> None:
        """Let every alarm that nobody answered sound at once."""
        for alarm in self._alarms.values():
            if alarm.state is CallState.UNACKNOWLEDGED:
                alarm.sounded_t, alarm.since_t = -math.inf, min(alarm.since_t, now)

    def _see(self, key: _Key, cause: Cause, now: float) -> list[StateChange]:
        alarm = self._alarms.get(key)
        if alarm is None:
            if now - self._standing[key] < ALARMS[cause.call].on_s:
                return []
            self._alarms[key] = Alarm(self._new_id(), cause, since_t=now)
            return []
        before, alarm.cause = alarm.cause, cause
        over = alarm.state is CallState.SHELVED and now >= alarm.shelved_until
        if cause.priority < before.priority or cause.worse > before.worse or over:
            return self._raise_again(alarm, now)
        return []

    @staticmethod
    def _raise_again(alarm: Alarm, now: float) -> list[StateChange]:
        """More urgent or worse now, or back from the shelf: whoever answered has to hear it."""
        was_quiet = alarm.state is not CallState.UNACKNOWLEDGED
        alarm.state, alarm.since_t, alarm.sounded_t = CallState.UNACKNOWLEDGED, now, -math.inf
        return [StateChange(now, alarm.id, alarm.state)] if was_quiet and alarm.was_heard else []

    def _end(self, key: _Key, now: float) -> list[StateChange]:
        alarm = self._alarms.pop(key)
        return [StateChange(now, alarm.id, CallState.CLEARED)] if alarm.was_heard else []

    def _wish(self, alarm: Alarm, now: float) -> Wish:
        def said(_: str, t: float) -> None:
            alarm.sounded_t, alarm.was_heard = t, True

        cause = alarm.cause
        return Wish(
            call=cause.call,
            steaks=cause.steaks,
            in_s=None,
            priority=cause.priority,
            words=cause.words,
            since=min(alarm.due_t(), now),
            said=said,
            id=alarm.id,
            insistent=alarm.is_insistent(now),
            can_wait=alarm.due_t() > now,
        )

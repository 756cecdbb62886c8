"""What was said, and each alarm from its first sound to its end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pullcall.calls.alarm import CallState, StateChange
from pullcall.calls.rules import ALARMS
from pullcall.core.cook import Cook, Effect
from pullcall.events import Call, CallKind, Input
from pullcall.hindsight.facts import AlarmFacts, Said
from pullcall.log.call_records import call_record
from pullcall.log.records import to_line

#: Why an alarm is raised, where it always is for the same reason.
_WHY = {
    CallKind.PULL_NOW: "the core was at the pull temperature, or seconds from it",
    CallKind.OVER: "the core went past the pull temperature and the steak was still on",
    CallKind.PROBE_LOST: "its probe was silent",
    CallKind.PROBE_WRONG: "its probe jumped or fell as no core does",
    CallKind.FORECAST_SHAKY: "the forecast was too unsure so near the pull",
    CallKind.SPOT_DUE: "the pull came near and the last spot was old",
    CallKind.FIRE_LOW: "the grate was below its floor",
    CallKind.FIRE_HIGH: "the grate was above its ceiling",
    CallKind.REST_DONE: "the least rest was over and the core past its peak",
    CallKind.UNHEARD: "no phone and no loudspeaker could be heard",
    CallKind.RECORDER_TROUBLE: "the log could not be written, or the disk was nearly full",
    CallKind.CLOCK_JUMPED: "the time of day jumped",
    CallKind.CLOCK_UNSET: "nothing had set the clock",
    CallKind.BATTERY_LOW: "a probe said that its battery was low",
    CallKind.PLAN_STEP: "a step of the plan was due",
    CallKind.WINDOW: "turn-in was open or about to close",
}


@dataclass(slots=True)
class _Alarm:
    first: Call
    cause: str
    times: int = 0
    answered_t: float | None = None
    by: str = ""
    ended_t: float | None = None


class AlarmWatch:
    """Hears every announcement and every answer."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._said: dict[str, Said] = {}
        self._alarms: dict[str, _Alarm] = {}

    def __call__(
        self, event: Input | None, effects: Sequence[Effect], t: float, cook: Cook
    ) -> None:
        """Take one step of the pass."""
        for effect in effects:
            if isinstance(effect, Call):
                self._hear(effect, cook)
            elif isinstance(effect, StateChange):
                self._change(effect)

    @property
    def lines(self) -> list[str]:
        """Every announcement as the log has it."""
        return self._lines

    def said(self) -> tuple[Said, ...]:
        """Each call and alarm as it was announced the first time."""
        return tuple(self._said.values())

    def facts(self) -> tuple[AlarmFacts, ...]:
        """Each alarm, in the order of their first sounds."""
        return tuple(
            AlarmFacts(
                id,
                str(alarm.first.call),
                alarm.first.steaks,
                alarm.cause,
                alarm.first.t,
                alarm.times,
                alarm.answered_t,
                alarm.by,
                alarm.ended_t,
            )
            for id, alarm in self._alarms.items()
        )

    def _hear(self, call: Call, cook: Cook) -> None:
        self._lines.append(to_line(call_record(call)))
        if call.id not in self._said:
            self._said[call.id] = Said(
                call.t, str(call.call), call.steaks, call.text, call.priority
            )
        if call.call in ALARMS:
            alarm = self._alarms.setdefault(call.id, _Alarm(call, _cause(call, cook)))
            alarm.times += 1

    def _change(self, change: StateChange) -> None:
        alarm = self._alarms.get(change.id)
        if alarm is None:
            return
        if change.state is CallState.ACKNOWLEDGED and alarm.answered_t is None:
            alarm.answered_t, alarm.by = change.t, change.by
        elif change.state is CallState.CLEARED:
            alarm.ended_t = change.t


def _cause(call: Call, cook: Cook) -> str:
    """Why it was raised, in words; what was due or missing stands in its own text."""
    why = _WHY[call.call]
    if call.call is CallKind.PROBE_LOST:
        silence_s = cook.steaks[call.steaks[0]].silence(call.t)
        return why if silence_s is None else f"{why} for {silence_s:.0f} s"
    return why

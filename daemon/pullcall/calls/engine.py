"""Decides each second what is called: planned acts, pulls, and alarms. No clock, no sound."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from pullcall.calls import text
from pullcall.calls.alarm import Alarm, CallState, StateChange
from pullcall.calls.probe_watch import ProbeWatch
from pullcall.calls.pull_watch import PullWatch
from pullcall.calls.rules import ALARMS, CALL_PRIORITY, PROBE_LOST_URGENT, URGENT_S, AlarmRule
from pullcall.calls.turn_watch import Act, TurnWatch
from pullcall.core.steak import Phase, SteakState
from pullcall.errors import UnknownNameError
from pullcall.events import Call, CallKind, Forecast

Announced = Call | StateChange


class CallEngine:
    """Steps once a second over all steaks; deterministic, so a replay gives the same calls."""

    def __init__(self, steaks: Mapping[str, SteakState]) -> None:
        self._steaks = steaks
        self._turns = TurnWatch()
        self._pulls = {name: PullWatch() for name in steaks}
        self._probes = {name: ProbeWatch() for name in steaks}
        self._alarms: dict[tuple[CallKind, str], Alarm] = {}
        self._said: dict[str, Call] = {}
        self._answered: set[str] = set()
        self._open_leads: dict[str, str] = {}
        self._count = 0

    def follow(self, steaks: Mapping[str, SteakState]) -> None:
        """Go on with these states of the same steaks (after an undo), keeping what was said."""
        self._steaks = steaks
        for name, steak in steaks.items():
            if steak.phase is Phase.WAITING:
                self._pulls[name] = PullWatch()

    def step(self, forecasts: Mapping[str, Forecast], now: float) -> list[Announced]:
        """What is announced at ``now``, most urgent first."""
        out: list[Announced] = [
            self._planned(act, now) for act in self._turns.due(self._steaks, now)
        ]
        for name, steak in self._steaks.items():
            forecast = forecasts.get(name)
            out += self._probe(steak, forecast, now)
            out += self._pull(steak, forecast, now)
        out += self._repeats(now)
        return sorted(out, key=_urgency)

    def acknowledge(self, id: str, by: str, now: float) -> list[Announced]:
        """Answer a call or alarm; answering twice changes nothing."""
        for alarm in self._alarms.values():
            if alarm.call.id == id and alarm.state is CallState.UNACKNOWLEDGED:
                alarm.state = CallState.ACKNOWLEDGED
                return [StateChange(now, id, CallState.ACKNOWLEDGED, by)]
        said = self._said.get(id)
        if said is None or said.call is not CallKind.PULL_SOON or id in self._answered:
            return []
        self._answered.add(id)
        self._pulls[said.steaks[0]].mute()
        return [StateChange(now, id, CallState.ACKNOWLEDGED, by)]

    def check_call(self, id: str) -> None:
        """Raise UnknownNameError for a call that was never made."""
        if id not in self._said:
            raise UnknownNameError("There is no such call in this cook: reload the page.")

    def leads_left(self, steak: str) -> tuple[float, ...]:
        """The seconds ahead at which a steak's pull is still to be announced."""
        return self._pulls[steak].leads_left()

    def live(self) -> tuple[Alarm, ...]:
        """The alarms that have not ended."""
        return tuple(self._alarms.values())

    def _planned(self, act: Act, now: float) -> Call:
        words = text.planned(act.call, act.steaks, act.in_s)
        return self._say(now, act.steaks, act.call, act.in_s, CALL_PRIORITY[act.call], words)

    def _pull(self, steak: SteakState, forecast: Forecast | None, now: float) -> list[Announced]:
        watch = self._pulls[steak.name]
        if steak.phase is not Phase.ON:
            return self._pull_is_done(steak, now) + self._clear(CallKind.OVER, steak, now)
        watch.see(steak, forecast, now)
        if watch.is_over:
            ended = self._pull_is_done(steak, now)
            return ended + self._raise(ALARMS[CallKind.OVER], steak, text.over(steak.name), now)
        if watch.is_due:
            words = text.pull_now(steak.name)
            ended = self._settle_lead(steak, now)
            return ended + self._raise(ALARMS[CallKind.PULL_NOW], steak, words, now)
        ended = self._clear(CallKind.PULL_NOW, steak, now)
        lead = watch.take_lead()
        return ended if lead is None else ended + self._announce_lead(steak, lead, now)

    def _announce_lead(self, steak: SteakState, lead: float, now: float) -> list[Announced]:
        ended = self._settle_lead(steak, now)
        words = text.pull_soon(steak.name, lead)
        call = self._say(now, (steak.name,), CallKind.PULL_SOON, lead, 1, words)
        self._open_leads[steak.name] = call.id
        return [*ended, call]

    def _settle_lead(self, steak: SteakState, now: float) -> list[Announced]:
        """The lead announced before is out of date."""
        id = self._open_leads.pop(steak.name, None)
        if id is None or id in self._answered:
            return []
        return [StateChange(now, id, CallState.CLEARED)]

    def _pull_is_done(self, steak: SteakState, now: float) -> list[Announced]:
        return self._settle_lead(steak, now) + self._clear(CallKind.PULL_NOW, steak, now)

    def _probe(self, steak: SteakState, forecast: Forecast | None, now: float) -> list[Announced]:
        watch = self._probes[steak.name]
        watch.see(steak, now)
        if not watch.is_lost:
            return self._clear(CallKind.PROBE_LOST, steak, now)
        rule = PROBE_LOST_URGENT if _pull_is_near(forecast) else ALARMS[CallKind.PROBE_LOST]
        return self._raise(rule, steak, text.probe_lost(steak.name), now)

    def _raise(self, rule: AlarmRule, steak: SteakState, words: str, now: float) -> list[Announced]:
        """Raise an alarm once; one already live may only become more urgent."""
        key = (rule.call, steak.name)
        alarm = self._alarms.get(key)
        if alarm is None:
            call = self._say(now, (steak.name,), rule.call, None, rule.priority, words)
            self._alarms[key] = Alarm(call, rule, sounded_t=now)
            return [call]
        if rule.priority < alarm.rule.priority:
            alarm.rule, alarm.state, alarm.sounded_t = rule, CallState.UNACKNOWLEDGED, now
            alarm.call = replace(alarm.call, t=now, priority=rule.priority)
            return [alarm.call]
        return []

    def _clear(self, kind: CallKind, steak: SteakState, now: float) -> list[Announced]:
        alarm = self._alarms.pop((kind, steak.name), None)
        return [] if alarm is None else [StateChange(now, alarm.call.id, CallState.CLEARED)]

    def _repeats(self, now: float) -> list[Announced]:
        due = [alarm for alarm in self._alarms.values() if alarm.is_due(now)]
        for alarm in due:
            alarm.sounded_t = now
        return [replace(alarm.call, t=now) for alarm in due]

    def _say(
        self,
        now: float,
        steaks: tuple[str, ...],
        kind: CallKind,
        in_s: float | None,
        priority: int,
        words: str,
    ) -> Call:
        self._count += 1
        call = Call(now, f"c{self._count}", steaks, kind, in_s, priority, words)
        self._said[call.id] = call
        return call


def _pull_is_near(forecast: Forecast | None) -> bool:
    pull = forecast.pull_in_s if forecast else None
    return pull is not None and pull.p50 <= URGENT_S


def _urgency(announced: Announced) -> tuple[int, float]:
    """State changes first, then by priority; equal ones keep their order."""
    if isinstance(announced, StateChange):
        return (0, announced.t)
    return (announced.priority, announced.t)

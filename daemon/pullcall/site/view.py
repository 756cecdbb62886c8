"""What pages are shown of a cook: the snapshot, and the message for each input and effect."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict
from typing import Any

from pullcall.calls import text
from pullcall.calls.alarm import CallState, StateChange
from pullcall.calls.rules import CALL_PRIORITY
from pullcall.core.cook import Cook, Effect
from pullcall.core.curve import Curve
from pullcall.core.phase import Phase
from pullcall.core.setup import window_of
from pullcall.core.steak import SteakState
from pullcall.events import Call, CallKind, Forecast, Input, Mark, Reading, Setting, Spot, Undo
from pullcall.log.call_records import forecast_record
from pullcall.site.hub import Stream
from pullcall.site.records import fire_record, plan_record, proposal_record

_CALLS_SHOWN = 20
Json = dict[str, Any]
#: Gives the id of a text's words as sound, None where there is none.
Offer = Callable[[str], str | None]


def _speechless(text: str) -> None:
    return None


class View:
    """Turns one cook into messages on a hub. Holds nothing that is not derived.

    The texts that are shown as calls, or as coming, are offered as sound.
    """

    def __init__(self, cook: Cook, hub: Stream, offer: Offer = _speechless) -> None:
        self.cook = cook
        self._hub = hub
        self._offer = offer
        self._curves = {name: Curve() for name in cook.header.names()}
        self._calls: list[Json] = []
        self._next: dict[str, Json | None] = {}
        self.schedule: list[Json] = []

    def learn(self, event: Input | None, effects: Iterable[Effect]) -> None:
        """Take an input and its effects without telling anyone (a cook being resumed)."""
        if isinstance(event, Reading) and event.steak in self._curves:
            self._curves[event.steak].add(event.t, event.celsius)
        for effect in effects:
            self._remember(effect)

    def show_input(self, event: Input) -> None:
        """Tell every page about one input."""
        self.learn(event, ())
        message = _input_message(event)
        if message is not None:
            self._hub.publish(*message)
        if isinstance(event, Setting) and event.steak is None:
            self._hub.publish("cook", {"cook": self._cook()})
        if isinstance(event, Mark | Setting | Undo):
            for steak in self.cook.steaks.values():
                self._show_steak(self.steak(steak))

    def show_effects(self, effects: Iterable[Effect], now: float) -> None:
        """Tell every page what follows, and the schedule where it changed."""
        for effect in effects:
            self._remember(effect, self._offer)
            if isinstance(effect, Forecast):
                self._hub.publish("forecast", forecast_record(effect))
            elif isinstance(effect, Call):
                self._hub.publish("call", self._calls[-1])
            else:
                self._hub.publish("call_state", _change(effect))
        self._show_schedule(now)
        self._show_lapsed(now)
        for type, body in self._around().items():
            self._hub.publish_changed(type, {type: body})

    def show_again(self, call: Call) -> None:
        """Tell every page once more of a call that still stands."""
        shown = next((c for c in self._calls if c["id"] == call.id), None)
        if shown is not None and shown["state"] == CallState.UNACKNOWLEDGED:
            self._hub.publish("call", {**shown, "insistent": True})

    def snapshot(self, now: float) -> Json:
        """Everything about the cook that a page needs to start from."""
        marks, spots = self.cook.history.marks(), self.cook.history.spots()
        return {
            "t": round(now, 3),
            "cook": self._cook(),
            "steaks": [
                {**self.steak(s, now), "curve": self._curves[name].points()}
                for name, s in self.cook.steaks.items()
            ],
            "marks": [asdict(m) for m in marks],
            "spots": [asdict(s) for s in spots],
            "calls": list(self._calls),
            "schedule": self.schedule,
            **self._around(),
        }

    def _around(self) -> Json:
        """What belongs to no single steak."""
        return {
            "fire": fire_record(self.cook.fire_report),
            "plan": plan_record(self.cook.plan),
            "proposals": [proposal_record(p) for p in self.cook.proposals()],
        }

    def _cook(self) -> Json:
        setup = self.cook.setup
        span = window_of(setup)
        return {
            "id": setup.cook,
            "started": setup.started,
            "rest_on": setup.rest_on,
            "carry_over": str(setup.carry_over),
            "plan": [{"t": p.t, "mark": str(p.mark)} for p in setup.plan],
            "window": asdict(setup.window) if setup.window else None,
            "window_t": span,
            "aim_share": setup.aim_share,
            "offset_s": setup.offset_s,
            "durations": {name: asdict(range_) for name, range_ in setup.durations.items()},
            "fire": asdict(setup.fire),
            "simulated": setup.simulated,
        }

    def steak(self, steak: SteakState, now: float | None = None) -> Json:
        """One steak as pages know it."""
        reading, settings = steak.last_reading, steak.settings
        forecast = self.cook.forecasts.get(steak.name)
        at = now if now is not None else (forecast.t if forecast else 0.0)
        return {
            **asdict(settings),
            "phase": str(steak.phase),
            "on_t": steak.on_t,
            "off_t": steak.off_t,
            "reading": {"t": reading.t, "celsius": reading.celsius} if reading else None,
            "forecast": forecast_record(forecast) if forecast else None,
            "next": _next(steak, at),
        }

    def _remember(self, effect: Effect, offer: Offer = _speechless) -> None:
        if isinstance(effect, Call):
            is_over = effect.call in (CallKind.TURN, CallKind.FLIP)
            state = CallState.CLEARED if is_over else CallState.UNACKNOWLEDGED
            since_t = self._forget(effect.id, effect.t)
            more = {"since_t": since_t, "clip": offer(effect.text)}
            self._calls.append({**_call(effect, state), **more})
            self._trim()
        elif isinstance(effect, StateChange):
            for call in self._calls:
                if call["id"] == effect.id:
                    call["state"] = str(effect.state)

    def _trim(self) -> None:
        """Keep the last calls, and every alarm that lives."""
        live = {alarm.id for alarm in self.cook.live_alarms()}
        older = self._calls[:-_CALLS_SHOWN]
        self._calls = [c for c in older if c["id"] in live] + self._calls[-_CALLS_SHOWN:]

    def _forget(self, id: str, t: float) -> float:
        """An alarm that sounds again at ``t`` is shown once, in its latest form; gives when it
        sounded first."""
        known = next((call for call in self._calls if call["id"] == id), None)
        if known is None:
            return t
        self._calls.remove(known)
        return float(known["since_t"])

    def _show_lapsed(self, now: float) -> None:
        """Tell of every steak whose planned act lapsed: another one is next, or none."""
        for name, steak in self.cook.steaks.items():
            if name in self._next and _next(steak, now) != self._next[name]:
                self._show_steak(self.steak(steak, now))

    def _show_steak(self, shown: Json) -> None:
        self._next[shown["steak"]] = shown["next"]
        self._hub.publish("steak", shown)

    def _show_schedule(self, now: float) -> None:
        coming = schedule_of(self.cook, now)
        schedule = [{**call, "clip": self._offer(call["text"])} for call in coming]
        if schedule != self.schedule:
            self.schedule = schedule
            self._hub.publish("schedule", {"calls": schedule})


def schedule_of(cook: Cook, now: float) -> list[Json]:
    """The coming calls with when they are due, so that a page can sound them with a dead link.

    A pull's due time is rounded to the second: a schedule that trembles is sent for nothing.
    """
    coming = [
        call for s in cook.steaks.values() for call in (*_acts(cook, s, now), *_pulls(cook, s))
    ]
    return sorted((c for c in coming if c["due_t"] >= now), key=lambda call: call["due_t"])


def _next(steak: SteakState, at: float) -> Json | None:
    """The planned act that comes next, as pages know it."""
    upcoming = steak.next_planned(at)
    return {"mark": str(upcoming[0].mark), "due_t": upcoming[1]} if upcoming else None


def _acts(cook: Cook, steak: SteakState, now: float) -> Iterator[Json]:
    upcoming = None if cook.pull_is_due(steak.name) else steak.next_planned(now)
    if upcoming is not None:
        kind = CallKind(upcoming[0].mark.value)
        words = text.planned(kind, (steak.name,), 0.0)
        yield _due(steak.name, kind, upcoming[1], words, CALL_PRIORITY[kind])


def _pulls(cook: Cook, steak: SteakState) -> Iterator[Json]:
    forecast = cook.forecasts.get(steak.name)
    if steak.phase is not Phase.ON or forecast is None or forecast.pull_in_s is None:
        return
    due = round(forecast.t + forecast.pull_in_s.p50)
    for lead in cook.leads_left(steak.name):
        words = text.pull_soon(steak.name, lead)
        yield _due(steak.name, CallKind.PULL_SOON, due - lead, words, 1)
    now = due - round(cook.pull_early_s(steak.name))
    words = text.pull_now(steak.name, cook.pull_is_estimate(steak.name))
    yield _due(steak.name, CallKind.PULL_NOW, now, words, 1)


def _due(steak: str, kind: CallKind, due_t: float, words: str, priority: int) -> Json:
    return {
        "steaks": [steak],
        "call": str(kind),
        "due_t": due_t,
        "text": words,
        "priority": priority,
    }


def _call(call: Call, state: CallState) -> Json:
    return {**asdict(call), "state": str(state)}


def _change(change: StateChange) -> Json:
    return asdict(change)


def _input_message(event: Input) -> tuple[str, Json] | None:
    kinds = {Reading: "reading", Spot: "spot", Mark: "mark", Undo: "undo", Setting: "setting"}
    kind = kinds.get(type(event))
    return None if kind is None else (kind, asdict(event))

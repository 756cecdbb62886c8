"""A site's row on a board: what acts next there. Times are the board's own seconds."""

from __future__ import annotations

from typing import Any

from pullcall.board.contact import Reach
from pullcall.board.mirror import Mirror
from pullcall.board.own_alarm import own_alarm
from pullcall.board.state import Lane
from pullcall.bus import payloads
from pullcall.calls.alarm import CallState
from pullcall.calls.rules import ALARMS
from pullcall.core.phase import Phase, Stage, stage_of
from pullcall.events import CallKind

Json = dict[str, Any]

_RANKS = {CallKind.OVER: 0, CallKind.PULL_NOW: 1, CallKind.UNHEARD: 9}
_STATES = (CallState.UNACKNOWLEDGED, CallState.ACKNOWLEDGED, CallState.SHELVED)


def row_of(mirror: Mirror, now: float) -> Json:
    """The row as pages get it."""
    cook, heard_t = mirror.state.cook, mirror.contact.heard_t
    return {
        "site": mirror.site,
        "name": mirror.name,
        "state": str(mirror.contact.reach(now)),
        "heard_t": None if heard_t is None else round(heard_t, 1),
        "stage": str(_stage(mirror)),
        "simulated": cook.simulated if cook else False,
        "speed": mirror.clock.speed,
        "alarm": alarm_of(mirror, now),
        "next": next_of(mirror, now),
        "window": _window(mirror),
        "steaks": [_steak(mirror, steak, lane) for steak, lane in mirror.state.shown()],
    }


def alarm_of(mirror: Mirror, now: float) -> Json | None:
    """What most needs somebody: what nobody answered, by priority and age, before what somebody
    did. Nobody sounds the alarms of a site that is gone: its own are over."""
    is_gone = mirror.contact.reach(now) is Reach.GONE
    live = [] if is_gone else [_alarm(mirror, call) for call in _live(mirror)]
    own = own_alarm(mirror, now)
    return min([*live, own] if own else live, key=_urgency, default=None)


def next_of(mirror: Mirror, now: float) -> Json | None:
    """The next call that is scheduled, else the next step of the plan that asks for somebody.

    The last call stays when its time has passed: its site takes it away once it is done, and one
    that is not heard any more left it open.
    """
    schedule = mirror.state.schedule
    coming = schedule.calls if schedule else []
    t = mirror.now(now)
    call = next((c for c in coming if c.due_t >= t), coming[-1] if coming else None)
    if call is not None:
        return _next(mirror, str(call.call), call.steaks, call.due_t, call.text, call.priority)
    step = _step(mirror, t)
    if step is None:
        return None
    steaks = [step.steak] if step.steak else []
    return _next(mirror, str(CallKind.PLAN_STEP), steaks, step.begin_t, step.label, 3)


def _stage(mirror: Mirror) -> Stage:
    return stage_of({lane.steak.phase for _, lane in mirror.state.shown() if lane.steak})


def _live(mirror: Mirror) -> list[payloads.Call]:
    calls = mirror.state.calls.calls if mirror.state.calls else []
    return [call for call in calls if call.call in ALARMS and call.state in _STATES]


def _alarm(mirror: Mirror, call: payloads.Call) -> Json:
    return {
        "call": str(call.call),
        "text": call.text,
        "priority": call.priority,
        "steaks": list(call.steaks),
        "state": str(call.state),
        "since_t": _at(mirror, mirror.raised_t.get(call.id, call.t)),
    }


def _urgency(alarm: Json) -> tuple[int, int, int, float]:
    """Of equal priority what a steak is lost by comes first, and that nobody hears it last: who
    reads this does."""
    rank = _RANKS.get(alarm["call"], len(_RANKS))
    return _STATES.index(alarm["state"]), alarm["priority"], rank, alarm["since_t"] or 0.0


def _step(mirror: Mirror, t: float) -> payloads.PlanStep | None:
    plan = mirror.state.plan.plan if mirror.state.plan else None
    steps = plan.steps if plan and _stage(mirror) is not Stage.OVER else []
    open = [step for step in steps if step.asks and step.done_t is None and step.latest_t >= t]
    return min(open, key=lambda step: step.begin_t, default=None)


def _next(
    mirror: Mirror, call: str, steaks: list[str], due_t: float, text: str, priority: int
) -> Json:
    return {
        "call": call,
        "steaks": list(steaks),
        "due_t": _at(mirror, due_t),
        "text": text,
        "priority": priority,
    }


def _window(mirror: Mirror) -> Json | None:
    span = mirror.state.cook.window_t if mirror.state.cook else None
    if span is None or mirror.clock.at(0.0) is None:
        return None
    return {"opens_t": _at(mirror, span[0]), "closes_t": _at(mirror, span[1])}


def _steak(mirror: Mirror, steak: str, lane: Lane) -> Json:
    assert lane.steak is not None
    forecast, reading = lane.forecast, lane.reading
    is_on = lane.steak.phase is Phase.ON
    pull_c = forecast.pull_c if forecast and forecast.pull_c is not None else lane.steak.pull_c
    return {
        "steak": steak,
        "phase": str(lane.steak.phase),
        "celsius": reading.celsius if reading else None,
        "reading_t": _at(mirror, reading.t) if reading else None,
        "pull_c": pull_c,
        "pull_t": _pull(mirror, forecast) if forecast and is_on else None,
    }


def _pull(mirror: Mirror, forecast: payloads.Forecast) -> Json | None:
    pull = forecast.pull_in_s
    if pull is None or mirror.clock.at(0.0) is None:
        return None
    return {name: _at(mirror, forecast.t + getattr(pull, name)) for name in ("p10", "p50", "p90")}


def _at(mirror: Mirror, t: float) -> float | None:
    """To the tenth: what only trembles is not sent."""
    at = mirror.clock.at(t)
    return None if at is None else round(at, 1)

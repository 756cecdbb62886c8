"""From two states of a topic to the messages that a page of the site itself would have got."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, TypeVar

from pullcall.board import shown
from pullcall.board.state import Lane, SiteState
from pullcall.bus import payloads
from pullcall.bus.channels import Place

Json = dict[str, Any]
Message = tuple[str, Json]
D = TypeVar("D", payloads.Mark, payloads.Spot)


def news(state: SiteState, place: Place, before: Any, t: float) -> Iterator[Message]:
    """The messages of a topic that said ``before``; ``state`` has what it says now, at ``t`` cook
    seconds."""
    if place.lane is not None:
        lane = state.lanes[place.lane - 1]
        for steak, one in state.shown():
            if one is lane:
                yield from _of_lane(place, steak, lane)
        return
    tell = _TELL.get(place.channel.name)
    if tell is not None:
        yield from tell(state, before, t)


def _of_lane(place: Place, steak: str, lane: Lane) -> Iterator[Message]:
    kind = place.channel.name
    if kind == "curve":
        return
    if kind == "reading" and lane.reading is not None:
        channel = lane.steak.channel if lane.steak else None
        yield "reading", {**shown.dumped(lane.reading), "steak": steak, "channel": channel}
    elif kind == "forecast" and lane.forecast is not None:
        yield "forecast", shown.forecast_json(lane.forecast, steak)
    else:
        yield "steak", shown.steak_json(steak, lane)


def _pulse(state: SiteState, before: payloads.Pulse | None, t: float) -> Iterator[Message]:
    banner = state.pulse.banner if state.pulse else None
    if banner != (before.banner if before else None):
        yield "banner", {"banner": banner}


def _cook(state: SiteState, before: payloads.Cook | None, t: float) -> Iterator[Message]:
    yield "cook", {"cook": shown.cook_json(state.cook)}


def _deeds(state: SiteState, before: payloads.Deeds | None, t: float) -> Iterator[Message]:
    old, new = before or _NOTHING, state.deeds or _NOTHING
    for id in sorted(_ids(old) - _ids(new)):
        yield "undo", {"t": round(t, 3), "id": id}
    for mark in _new(old.marks, new.marks):
        yield "mark", shown.dumped(mark)
    for spot in _new(old.spots, new.spots):
        yield "spot", shown.dumped(spot)


_NOTHING = payloads.Deeds(marks=[], spots=[])


def _ids(deeds: payloads.Deeds) -> set[str]:
    return {mark.id for mark in deeds.marks} | {spot.id for spot in deeds.spots}


def _new(old: list[D], new: list[D]) -> list[D]:
    known = set(old)
    return [deed for deed in new if deed not in known]


def _calls(state: SiteState, before: payloads.Calls | None, t: float) -> Iterator[Message]:
    known = {call.id: call for call in before.calls} if before else {}
    for call in state.calls.calls if state.calls else ():
        old = known.get(call.id)
        if is_announced(old, call):
            yield "call", shown.call_json(call)
        elif old is not None and old.state != call.state:
            yield "call_state", {"t": round(t, 3), "id": call.id, "state": call.state, "by": ""}


def is_announced(old: payloads.Call | None, call: payloads.Call) -> bool:
    """Whether a call was made, or made again, since it was ``old``."""
    return old is None or old.t != call.t or (call.insistent and not old.insistent)


def _schedule(state: SiteState, before: object, t: float) -> Iterator[Message]:
    yield "schedule", {"calls": shown.schedule_json(state.schedule)}


def _plan(state: SiteState, before: object, t: float) -> Iterator[Message]:
    yield "plan", {"plan": shown.plan_json(state.plan)}


def _grate(state: SiteState, before: object, t: float) -> Iterator[Message]:
    yield "fire", {"fire": shown.fire_json(state.grate)}


def _proposals(state: SiteState, before: object, t: float) -> Iterator[Message]:
    yield "proposals", {"proposals": shown.proposals_json(state.proposals)}


def _probes(state: SiteState, before: object, t: float) -> Iterator[Message]:
    yield "probes", shown.probes_json(state.probes)


def _around(state: SiteState, before: object, t: float) -> Iterator[Message]:
    yield "site", shown.around_json(state.around)


_TELL: dict[str, Callable[[SiteState, Any, float], Iterator[Message]]] = {
    "pulse": _pulse,
    "cook": _cook,
    "deeds": _deeds,
    "calls": _calls,
    "schedule": _schedule,
    "plan": _plan,
    "grate": _grate,
    "proposals": _proposals,
    "probes": _probes,
    "around": _around,
}

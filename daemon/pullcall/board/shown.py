"""The state of a site in the shapes of docs/stream.md: as its own daemon would tell it."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from pydantic import BaseModel

from pullcall.board.state import Lane, SiteState
from pullcall.bus import payloads
from pullcall.events import CarryOver, FireSettings

Json = dict[str, Any]

#: Of a forecast these are told even where they say nothing.
_ALWAYS = ("t", "steak", "pull_in_s", "peak_c")
#: Shown until the site's own settings have come.
_NO_COOK: Json = {
    "id": "", "started": "", "rest_on": "rack", "carry_over": str(CarryOver.FORECAST),
    "plan": [], "window": None, "window_t": None, "aim_share": 0.0, "offset_s": 0.0,
    "durations": {}, "fire": asdict(FireSettings()), "simulated": False,
}  # fmt: skip


def dumped(payload: BaseModel) -> Json:
    """A payload, or a part of one, as JSON."""
    return payload.model_dump(mode="json")


def cook_json(cook: payloads.Cook | None) -> Json:
    """The settings of the cook."""
    if cook is None:
        return dict(_NO_COOK)
    return {key: value for key, value in dumped(cook).items() if key != "steaks"}


def forecast_json(forecast: payloads.Forecast, steak: str) -> Json:
    """A forecast; what says nothing is left out."""
    told = {**dumped(forecast), "steak": steak}
    return {key: value for key, value in told.items() if value is not None or key in _ALWAYS}


def steak_json(steak: str, lane: Lane) -> Json:
    """A steak without its curve."""
    assert lane.steak is not None
    return {
        **dumped(lane.steak),
        "reading": dumped(lane.reading) if lane.reading else None,
        "forecast": forecast_json(lane.forecast, steak) if lane.forecast else None,
    }


def call_json(call: payloads.Call | payloads.Due) -> Json:
    """A call, or one to come; a board has no clips."""
    return {**dumped(call), "clip": None}


def schedule_json(schedule: payloads.Schedule | None) -> list[Json]:
    """The calls to come."""
    return [call_json(call) for call in schedule.calls] if schedule else []


def plan_json(plan: payloads.Planned | None) -> Json | None:
    """The plan."""
    return dumped(plan.plan) if plan and plan.plan else None


def fire_json(grate: payloads.Grate | None) -> Json | None:
    """The grate."""
    return dumped(grate.fire) if grate and grate.fire else None


def proposals_json(proposals: payloads.Proposals | None) -> list[Json]:
    """The marks that the readings suggest."""
    return dumped(proposals)["proposals"] if proposals else []


def probes_json(probes: payloads.Probes | None) -> Json:
    """Every probe, and the adapter."""
    return dumped(probes) if probes else {"probes": [], "adapter": None}


def around_json(around: payloads.Around | None) -> Json:
    """Readiness and outlets."""
    return dumped(around) if around else {"readiness": [], "outlets": []}


def pulse_json(pulse: payloads.Pulse | None) -> Json:
    """What a snapshot has of the pulse, but for the clock."""
    if pulse is None:
        return {"wall": "", "mode": "live", "unit": "F", "banner": None}
    return {"wall": pulse.wall, "mode": pulse.mode, "unit": pulse.unit, "banner": pulse.banner}


def state_json(state: SiteState) -> Json:
    """All of it but the clock."""
    deeds = dumped(state.deeds) if state.deeds else {"marks": [], "spots": []}
    return {
        **pulse_json(state.pulse),
        "cook": cook_json(state.cook),
        "steaks": [
            {**steak_json(steak, lane), "curve": lane.drawn.points()}
            for steak, lane in state.shown()
        ],
        **deeds,
        "calls": [call_json(call) for call in state.calls.calls] if state.calls else [],
        "schedule": schedule_json(state.schedule),
        "plan": plan_json(state.plan),
        "fire": fire_json(state.grate),
        "proposals": proposals_json(state.proposals),
        **probes_json(state.probes),
        **around_json(state.around),
    }

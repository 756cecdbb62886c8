"""The fire, the plan and the proposals as pages receive them: rounded, so that what only
trembles is not sent."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from pullcall.events import Proposal, Quantiles
from pullcall.fire.fire import FireReport
from pullcall.plan.backward import PlanStep
from pullcall.plan.live import LivePlan
from pullcall.plan.steps import label

Json = dict[str, Any]


def fire_record(report: FireReport | None) -> Json | None:
    """The grate, to the degree and ten seconds."""
    if report is None:
        return None
    floor_in = report.floor_in_s
    return {
        "celsius": round(report.celsius),
        "trend_c_per_min": report.trend_c_per_min,
        "floor_in_s": None if floor_in is None else round(floor_in, -1),
        "age_s": round(report.age_s, -1),
        "state": str(report.state),
    }


def plan_record(plan: LivePlan | None) -> Json | None:
    """The plan, to the second; chances in whole percent."""
    if plan is None:
        return None
    return {
        "t": plan.t,
        "steps": [_step_record(step) for step in plan.steps],
        "chance": _share(plan.chance),
        "as_planned": _share(plan.as_planned),
        "choice": _share(plan.choice),
        "slack_s": _second(plan.slack_s),
        "last_on_t": {steak: round(t) for steak, t in plan.last_on_t.items()},
        "hand_in_t": _quantiles(plan.hand_in_t),
        "gap_s": _quantiles(plan.gap_s),
        "offset": asdict(plan.offset) if plan.offset else None,
        "advice": list(plan.advice),
    }


def proposal_record(proposal: Proposal) -> Json:
    """A proposed mark."""
    return {**asdict(proposal), "mark": str(proposal.mark)}


def _step_record(step: PlanStep) -> Json:
    return {
        "name": step.name,
        "steak": step.steak,
        "label": label(step.name, step.steak),
        "begin_t": round(step.recommended_t),
        "latest_t": round(step.latest_t),
        "low_s": round(step.low_s),
        "high_s": round(step.high_s),
        "critical": step.critical,
        "asks": step.asks,
        "done_t": _second(step.done_t),
    }


def _second(seconds: float | None) -> int | None:
    return None if seconds is None else round(seconds)


def _share(share: float | None) -> float | None:
    return None if share is None else round(share, 2)


def _quantiles(found: Quantiles | None) -> Json | None:
    return None if found is None else {k: round(v) for k, v in asdict(found).items()}

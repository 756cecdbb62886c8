"""The plan: the chain of steps laid backward from the turn-in window."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from pullcall.events import MarkKind, Range, SteakSettings
from pullcall.plan.chain import Chain
from pullcall.plan.day import Day, Key, keys
from pullcall.plan.lengths import Shares, lengths
from pullcall.plan.progress import Progress
from pullcall.plan.steps import HAND_IN, STEP

_NOTHING_DONE = Progress()
_MARKED_BY = {
    "season": MarkKind.SEASONED,
    "cold": MarkKind.SEASONED,
    "light": MarkKind.LIT,
    "pour": MarkKind.POURED,
    "heat_up": MarkKind.POURED,
    "fetch": MarkKind.FETCHED,
}


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One step of the plan; times in cook seconds, when the step begins.

    ``recommended_t`` reaches the aim point if every step from here on takes its middle length;
    never before what was marked or forecast lets it begin. ``latest_t`` still makes the close
    if every step takes its longest. ``earliest_t`` is the soonest it can begin from now, if
    every step before takes its shortest. ``slack_s`` is how much later than recommended (or
    than it can begin, where that is later) it may begin: latest_t - max(recommended_t,
    earliest_t). ``critical`` is the one step to be done that has least slack. ``asks`` is
    whether the cook has to act when it begins. ``done_t`` is when its mark says that it was
    done (season, pour, fetch, box, walk) or begun (the others), None before; what is done keeps
    the time it was wanted at.
    """

    name: str
    steak: str | None
    recommended_t: float
    latest_t: float
    earliest_t: float
    low_s: float
    high_s: float
    slack_s: float
    critical: bool
    reason: str
    asks: bool
    done_t: float | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """The steps in the day's order up to ("hand_in", None), and the window; cook seconds."""

    opens_t: float
    closes_t: float
    aim_t: float
    steps: tuple[PlanStep, ...]

    @property
    def critical(self) -> PlanStep | None:
        """The step to be done that has least slack; None once all is done."""
        return next((step for step in self.steps if step.critical), None)


def plan_backward(
    opens_t: float,
    closes_t: float,
    durations: Mapping[str, Range],
    steaks: tuple[SteakSettings, ...],
    aim_share: float,
    now: float,
    offset_s: float = 0.0,
    progress: Progress = _NOTHING_DONE,
) -> Plan:
    """The plan of the day at ``now``; all times in cook seconds.

    ``aim_share`` (0 to 1) is how far into the window the aim point lies; ``durations`` are the
    cook's own by step name; ``offset_s`` is how much later each steak goes on than the one
    before. Recommended and latest times have all steaks rested before the box is closed.
    """
    day = Day(steaks, durations, offset_s)
    aim_t = opens_t + aim_share * (closes_t - opens_t)
    return lay(day, (opens_t, closes_t), aim_t, now, progress.settled(now))


def lay(day: Day, window: tuple[float, float], aim_t: float, now: float, past: Progress) -> Plan:
    """The plan of ``day`` at ``now``, where ``past`` is settled progress."""
    wanted = aimed(day, past, aim_t)
    latest = _backward(day, past, window[1], 1.0)
    middle, short = _forward(day, past, now, window[1])
    order = (*keys(day.names()), ("hand_in", None))
    steps = [_step(day, past, key, wanted, latest, (middle, short)) for key in order]
    return Plan(*window, aim_t, _with_critical(steps))


def aimed(day: Day, past: Progress, aim_t: float) -> dict[Key, float]:
    """When each step begins if all take their middle length and end at ``aim_t``."""
    return _backward(day, past, aim_t, 0.5)


def _backward(day: Day, past: Progress, end_t: float, share: float) -> dict[Key, float]:
    """When steps begin if all end at ``end_t``, each at ``share`` of its range."""

    def takes_s(name: str, steak: str | None = None) -> float:
        range_ = day.takes((name, steak))
        return range_.low_s + share * (range_.high_s - range_.low_s)

    begin: dict[Key, float] = {("hand_in", None): end_t}
    begin["walk", None] = end_t - takes_s("walk")
    begin["box", None] = box = begin["walk", None] - takes_s("box")
    waiting = {}
    for place, name in enumerate(day.names()):
        begin["rest", name] = box - takes_s("rest", name)
        begin["cook", name] = begin["rest", name] - takes_s("cook", name)
        waiting[name] = begin["cook", name] - place * day.offset_s
    on = min(waiting.values())
    if past.first("on_t") is None:
        for place, name in enumerate(day.names()):
            begin["cook", name] = on + place * day.offset_s
            if share < 1.0:
                begin["rest", name] = begin["cook", name] + takes_s("cook", name)
    for first, second, third in (("fetch", "cold", "season"), ("heat_up", "pour", "light")):
        begin[first, None] = on - takes_s(first)
        begin[second, None] = begin[first, None] - takes_s(second)
        begin[third, None] = begin[second, None] - takes_s(third)
    return begin


def _forward(
    day: Day, past: Progress, now: float, closes_t: float
) -> tuple[dict[Key, float], dict[Key, float]]:
    """The soonest that steps can begin: by what was marked, with middle lengths; and from now
    on, with the shortest."""
    middle = _run(day, past, now, closes_t, (0.5, -np.inf, False))
    short = _run(day, past, now, closes_t, (0.0, now, True))
    return middle, short


def _run(
    day: Day, past: Progress, now: float, closes_t: float, how: tuple[float, float, bool]
) -> dict[Key, float]:
    """When steps begin at one share of their ranges, not before ``soonest``."""
    share, soonest, passing = how
    takes_s = lengths(day, past, now, _all_at(share, day.names()), passing)
    chain = Chain(day, past, takes_s, np.array([soonest])).run()
    end = chain.box(chain.chosen(closes_t))
    return {key: float(t[0]) for key, t in {**chain.begins, ("hand_in", None): end}.items()}


@lru_cache(maxsize=16)
def _all_at(share: float, names: tuple[str, ...]) -> Shares:
    return Shares.make(dict.fromkeys(keys(names), np.array([share])))


def _step(
    day: Day,
    past: Progress,
    key: Key,
    wanted: Mapping[Key, float],
    latest: Mapping[Key, float],
    soonest: tuple[Mapping[Key, float], Mapping[Key, float]],
) -> PlanStep:
    """One step; ``soonest`` is by marks with middle lengths, and from now with the shortest."""
    name, steak = key
    step = STEP[name]
    range_ = step.takes if name == HAND_IN.name else day.takes(key)
    done_t = _done(past, key)
    recommended_t, earliest_t = wanted[key], done_t
    if earliest_t is None:
        recommended_t = max(recommended_t, soonest[0][key])
        earliest_t = soonest[1][key]
    return PlanStep(
        name,
        steak,
        recommended_t=recommended_t,
        latest_t=latest[key],
        earliest_t=earliest_t,
        low_s=range_.low_s,
        high_s=range_.high_s,
        slack_s=latest[key] - (max(recommended_t, earliest_t) if done_t is None else done_t),
        critical=False,
        reason=step.reason,
        asks=step.asks,
        done_t=done_t,
    )


def _done(past: Progress, key: Key) -> float | None:
    """When the step's mark says it was done or begun."""
    name, steak = key
    if name in _MARKED_BY:
        return past.done.get(_MARKED_BY[name])
    if steak is not None:
        own = past.steak(steak)
        return own.on_t if name == "cook" else own.off_t
    return past.first("boxed_t" if name == "box" else "handed_in_t")


def _with_critical(steps: list[PlanStep]) -> tuple[PlanStep, ...]:
    """Marks the step with least slack among those to be done; the earlier one of equals."""
    open_ = [step for step in steps if step.done_t is None]
    if not open_:
        return tuple(steps)
    least = min(open_, key=lambda step: round(step.slack_s, 3))
    return tuple(replace(step, critical=True) if step is least else step for step in steps)

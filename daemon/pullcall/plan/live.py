"""The plan while the day goes on: where the steps stand, the chance, the slack, what to change."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from pullcall.events import CookHeader, Quantiles
from pullcall.plan.advice import advise
from pullcall.plan.backward import PlanStep, aimed, lay
from pullcall.plan.chain import Chain
from pullcall.plan.chance import Samples, quantiles, share_by, sure_by
from pullcall.plan.day import Day, Key
from pullcall.plan.offset import Offset, propose, propose_for
from pullcall.plan.progress import Progress


@dataclass(frozen=True, slots=True)
class LivePlan:
    """Where the day stands at ``t``; times in cook seconds.

    ``chance`` (0 to 1) is to hand in at least one steak inside the window if from now on each
    step begins as soon as it can; ``choice`` is to have all steaks rested to choose from inside
    it; ``as_planned`` is ``chance`` if steps wait for the times that reach the aim point.
    ``slack_s`` is how much later than as soon as you can you could be and still have 90 %:
    negative when ``chance`` is below. ``last_on_t`` is by steak (not yet on) the last moment it
    can go on with 90 %. ``hand_in_t`` is when the box is handed in as planned, never before the
    window opens. ``gap_s`` is the second pull less the first (in the order of the steaks), None
    unless there are two or once both are off; ``offset`` is proposed until the second is on.
    All of the window's figures are None, and ``steps`` empty, while there is no window.
    """

    t: float
    steps: tuple[PlanStep, ...] = ()
    chance: float | None = None
    as_planned: float | None = None
    choice: float | None = None
    slack_s: float | None = None
    last_on_t: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    hand_in_t: Quantiles | None = None
    gap_s: Quantiles | None = None
    offset: Offset | None = None
    advice: tuple[str, ...] = ()

    @property
    def critical(self) -> PlanStep | None:
        """The step to be done that has least slack."""
        return next((step for step in self.steps if step.critical), None)


def live_plan(
    now: float, window: tuple[float, float] | None, header: CookHeader, progress: Progress
) -> LivePlan:
    """The plan at ``now`` (cook seconds), for a ``window`` (opens, closes; cook seconds).

    Deterministic: the same days are drawn at every call, so that figures differ only by what
    happened between. It costs under a millisecond.
    """
    day = Day.of(header)
    past = progress.settled(now)
    samples = Samples.draw(day, past, now)
    chain = samples.run()
    gap_s, offset = _gap(samples, chain), _offset(samples)
    if window is None:
        return LivePlan(now, gap_s=gap_s, offset=offset)
    aim_t = window[0] + header.aim_share * (window[1] - window[0])
    plan = lay(day, window, aim_t, now, past)
    if (handed_in_t := past.first("handed_in_t")) is not None:
        made = 1.0 if window[0] <= handed_in_t <= window[1] else 0.0
        at = Quantiles(handed_in_t, handed_in_t, handed_in_t)
        return LivePlan(now, plan.steps, made, made, made, hand_in_t=at, gap_s=gap_s)
    first = chain.box(chain.first())
    planned = samples.run(aimed(day, past, aim_t))
    return LivePlan(
        now,
        plan.steps,
        chance=share_by(first, window[1]),
        as_planned=share_by(planned.box(planned.first()), window[1]),
        choice=share_by(chain.box(chain.last()), window[1]),
        slack_s=window[1] - sure_by(first),
        last_on_t=_last_on(samples, window[1]),
        hand_in_t=_hand_in(planned, window),
        gap_s=gap_s,
        offset=offset,
        advice=advise(samples, chain, plan),
    )


def _hand_in(planned: Chain, window: tuple[float, float]) -> Quantiles:
    handed_in = quantiles(planned.box(planned.chosen(window[1])))
    return Quantiles(
        max(handed_in.p10, window[0]), max(handed_in.p50, window[0]), max(handed_in.p90, window[0])
    )


def _last_on(samples: Samples, closes_t: float) -> Mapping[str, float]:
    """How late each steak not yet on can go on, on its own."""
    takes_s = samples.takes_s
    after = takes_s["box", None] + takes_s["walk", None]
    return {
        name: closes_t - sure_by(takes_s["cook", name] + takes_s["rest", name] + after)
        for name in samples.day.names()
        if samples.past.steak(name).on_t is None
    }


def _gap(samples: Samples, chain: Chain) -> Quantiles | None:
    names = samples.day.names()
    if len(names) != 2 or all(samples.past.steak(name).off_t is not None for name in names):
        return None
    first, second = (chain.begins["rest", name] for name in names)
    return quantiles(second - first)


def _offset(samples: Samples) -> Offset | None:
    """A proposal, until the second steak is on or the first is off."""
    names = samples.day.names()
    if len(names) != 2:
        return None
    first, second = (samples.past.steak(name) for name in names)
    if second.on_t is not None or first.off_t is not None:
        return None
    if first.on_t is None:
        return propose_for(samples.day)
    keys: list[Key] = [("cook", name) for name in names]
    gaps = samples.takes_s[keys[1]] - samples.takes_s[keys[0]]
    return propose(gaps, samples.now - first.on_t)

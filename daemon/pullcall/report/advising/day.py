"""The rest, the steps of the day, and the turn-in window."""

from __future__ import annotations

from collections.abc import Iterator

from pullcall.hindsight.facts import StepFacts
from pullcall.plan.steps import takes
from pullcall.report.advising.advice import Advice, Case
from pullcall.report.degrees import about, capital, clock, span

#: Boxed so much after the longest rest, the steak cools for nothing, seconds.
LONG_REST_S = 180.0
#: A rest so little short is not worth a word, seconds.
SHORT_REST_S = 20.0
#: So far from the moment aimed for in the window is worth a change of the plan, seconds.
WINDOW_S = 300.0
#: Closer to the window's close is luck, seconds.
CLOSE_S = 120.0
#: A step begun so much after its planned time held the day up, seconds.
LATE_STEP_S = 300.0


def rested(case: Case) -> Iterator[Advice]:
    """Boxed before the least rest was over, or long after the longest."""
    meant = takes("rest", case.facts.setup.durations)
    for steak in case.facts.steaks:
        if steak.boxed_t is None or steak.off_t is None:
            continue
        rest_s = steak.boxed_t - steak.off_t
        if rest_s < meant.low_s - SHORT_REST_S:
            peaked = steak.peak_t is not None and steak.peak_t < steak.boxed_t
            still = "" if peaked else ", before its peak was seen"
            yield Advice(
                f"Give {steak.steak} its whole rest: {span(meant.low_s)} at least.",
                f"It was boxed {clock(rest_s)} after off{still}.",
                1.0 + 3.0 * (1.0 - rest_s / meant.low_s),
            )
        elif rest_s > meant.high_s + LONG_REST_S:
            yield Advice(
                f"Put {steak.steak} on later, or box it sooner.",
                f"It rested {clock(rest_s)}; {span(meant.high_s)} are enough by the plan.",
                1.0 + (rest_s - meant.high_s) / 600.0,
            )


def handed_in(case: Case) -> Iterator[Advice]:
    """Outside the window, near its end, or far from the moment aimed for."""
    facts = case.facts
    if facts.window_t is None or (at := facts.handed_in_t) is None:
        return
    opens, closes = facts.window_t
    aim = opens + facts.setup.aim_share * (closes - opens)
    if at > closes:
        yield Advice(
            f"Begin everything {span(at - aim)} earlier.",
            f"The box was handed in {span(at - closes)} after turn-in closed.",
            10.0,
        )
    elif at < opens:
        yield Advice(
            f"Begin everything {span(aim - at)} later.",
            f"The box was handed in {span(opens - at)} before turn-in opened.",
            8.0,
        )
    elif closes - at < CLOSE_S:
        yield Advice(
            f"Put the steaks on {span(at - aim)} earlier.",
            f"Only {span(closes - at)} were left of the window.",
            4.0,
        )
    elif abs(at - aim) > WINDOW_S:
        late = at > aim
        yield Advice(
            f"Put the steaks on {about(at - aim)} {'earlier' if late else 'later'}.",
            f"Handed in {about(at - aim)} {'after' if late else 'before'} the moment aimed for, "
            f"with {span(closes - at)} left of the window.",
            abs(at - aim) / WINDOW_S,
        )


def on_time(case: Case) -> Iterator[Advice]:
    """The step that was begun latest against the plan."""
    late = [(step.late_s, step) for step in case.facts.steps if step.late_s is not None]
    worst = max(late, key=lambda pair: pair[0], default=None)
    if worst is not None and worst[0] >= LATE_STEP_S:
        yield _late(*worst)


def _late(late_s: float, step: StepFacts) -> Advice:
    return Advice(
        f"{capital(step.label)}: begin it on time.",
        f"It was {span(late_s)} late by the plan.",
        late_s / LATE_STEP_S,
    )

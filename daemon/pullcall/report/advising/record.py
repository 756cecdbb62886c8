"""What was recorded: probes, alarms, the forecast itself, and what is missing to judge by."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import mean, median

from pullcall.events import CallKind
from pullcall.hindsight.facts import AlarmFacts, CookFacts, SteakFacts
from pullcall.report.advising.advice import Advice, Case
from pullcall.report.degrees import span
from pullcall.report.measures import troubles

#: An alarm open for so long, seconds, with nobody answering.
UNANSWERED_S = 20.0
#: Forecasts of a cook are worse than usual when their middle was farther off than usual by this
#: factor, and by so many seconds; usual takes so many earlier cooks.
WORSE_TIMES, WORSE_S, USUAL_COOKS = 1.5, 3.0, 2
#: Forecasts counted: the last minute, which the calls go by, seconds.
_COUNTED_S = 60.0
_PROBE = frozenset({CallKind.PROBE_LOST, CallKind.PROBE_WRONG})
#: Notices need no answer.
_NO_ANSWER = frozenset(
    {
        CallKind.RECORDER_TROUBLE,
        CallKind.CLOCK_JUMPED,
        CallKind.CLOCK_UNSET,
        CallKind.BATTERY_LOW,
    }
)


def probed(case: Case) -> Iterator[Advice]:
    """Probes that were lost or read wrong, by steak."""
    for steak in case.facts.steaks:
        found = [a for a in case.facts.alarms if a.call in _PROBE and steak.steak in a.steaks]
        if found:
            times = "once" if len(found) == 1 else f"{len(found)} times"
            yield Advice(
                f"See to the probe of {steak.steak} before it goes on: seat, battery, distance.",
                f"It was lost or read wrong {times}: {_plain(found[0])}.",
                1.5 + 0.5 * len(found),
            )


def _plain(alarm: AlarmFacts) -> str:
    return (alarm.cause or alarm.call.replace("_", " ")).rstrip(".")


def answered(case: Case) -> Iterator[Advice]:
    """Nobody could hear, or nobody answered."""
    unheard = [a for a in case.facts.alarms if a.call == CallKind.UNHEARD]
    if unheard:
        lasted = sum(_lasted_s(a, case.facts) for a in unheard)
        yield Advice(
            "Tap a phone to hear calls, or plug in a loudspeaker, before the steaks go on.",
            f"For {span(lasted)} nobody could hear a call.",
            2.0 + lasted / 120.0,
        )
    silent = [
        a
        for a in troubles(case.facts)
        if a.call not in _NO_ANSWER
        and a.call != CallKind.UNHEARD
        and a.answered_t is None
        and _lasted_s(a, case.facts) >= UNANSWERED_S
    ]
    if silent:
        longest = max(silent, key=lambda a: _lasted_s(a, case.facts))
        more = f", and {len(silent) - 1} more" if len(silent) > 1 else ""
        yield Advice(
            "Answer alarms, or have a helper answer them.",
            f"Nobody answered: {_plain(longest)} ({span(_lasted_s(longest, case.facts))}, "
            f"sounded {longest.times} times){more}.",
            1.0 + 0.5 * len(silent),
        )


def _lasted_s(alarm: AlarmFacts, facts: CookFacts) -> float:
    return (facts.ends_t if alarm.ended_t is None else alarm.ended_t) - alarm.began_t


def forecast(case: Case) -> Iterator[Advice]:
    """The middle of the pull's forecast was farther off than usual."""
    usual = [off for cook in case.earlier if (off := _off_s(cook)) is not None]
    this = _off_s(case.facts)
    if this is None or len(usual) < USUAL_COOKS:
        return
    before = median(usual)
    if this >= max(WORSE_TIMES * before, before + WORSE_S):
        yield Advice(
            "Look for what misled the forecast: where the probes sat, marks tapped late.",
            f"In the last minute the pull was told {this:.1f} s wrong, usually {before:.1f} s "
            f"({len(usual)} cooks).",
            this / (before + WORSE_S),
        )


def _off_s(facts: CookFacts) -> float | None:
    """How far off the middle was in the last minute before a crossing, on average, seconds."""
    off = [abs(x.error_s) for s in facts.steaks for x in s.leads if x.lead_s <= _COUNTED_S]
    return mean(off) if off else None


def missing(case: Case) -> Iterator[Advice]:
    """What could not be judged, and which tap or probe was missing for it."""
    lacks = [lack for steak in case.facts.steaks for lack in _of_steak(steak)]
    if case.facts.fire.mean_c is None:
        lacks.append("the fire (no probe at the grate)")
    if case.facts.window_t is not None and case.facts.handed_in_t is None:
        lacks.append("the hand-in (not tapped)")
    if lacks:
        yield Advice("Record what was missing.", f"Too little to say: {'; '.join(lacks)}.", 0.5)


def _of_steak(steak: SteakFacts) -> Iterator[str]:
    whose = steak.steak
    if steak.on_t is None:
        yield f"anything of {whose} (its on was not tapped)"
        return
    if not steak.trace and not steak.spots:
        yield f"the core of {whose} (no probe, no spot)"
    elif steak.off_t is not None and steak.peak_c is None:
        yield f"the peak of {whose} (no readings past it)"
    if steak.off_t is None:
        yield f"the pull of {whose} (its off was not tapped)"
    elif steak.boxed_t is None:
        yield f"the rest of {whose} (boxed was not tapped)"

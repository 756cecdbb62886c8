"""The pull: taken off late or early, and a pull temperature that missed the target."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from pullcall.calls.reaction import allowed_s
from pullcall.events import CallKind, CarryOver, PullBy
from pullcall.hindsight.facts import SteakFacts
from pullcall.learning.choice import Mode
from pullcall.report.advising.advice import Advice, Case
from pullcall.report.degrees import Degrees, capital
from pullcall.report.measures import against_pull_c, late_s
from pullcall.report.sensitivity import PEAK_PER_PULL, off_for_peak_c

#: Later than this is slow, seconds: so long after the crossing, and so much longer from "pull now"
#: to off than the call allowed for. Reaching for the tongs takes 3 s (common practice, no source).
SLOW_S = 4.5
#: So far off the pull temperature or the target is worth a change, kelvin: two probes of one
#: kind differ by about as much (common practice, no source).
WORTH_C = 0.6
#: A target missed by more is not the carry-over's doing, kelvin.
ODD_C = 4.0
_SECONDS = re.compile(r"\d+$")


def pulled(case: Case) -> Iterator[Advice]:
    """Slow after the call, or off above or below the pull temperature."""
    for steak in case.facts.steaks:
        apart, slow_s = against_pull_c(steak), _slow_s(steak, _allowed_s(case))
        if slow_s is not None and slow_s >= SLOW_S:
            yield _slow(steak, slow_s, case)
        elif apart is not None and apart >= WORTH_C:
            yield _late(steak, apart, case.degrees)
        elif apart is not None and apart <= -WORTH_C:
            yield _early(steak, apart, case)


def _allowed_s(case: Case) -> float:
    """From "pull now" to the crossing, as this cook was called."""
    return allowed_s(case.facts.setup.lessons.reaction_s)


def _slow_s(steak: SteakFacts, allowed: float) -> float | None:
    """How much the cook, not the call, was late: never longer than it was past its crossing."""
    if steak.reaction_s is None:
        return None
    late = late_s(steak)
    over = steak.reaction_s - allowed
    return over if late is None else min(over, late)


def _slow(steak: SteakFacts, slow_s: float, case: Case) -> Advice:
    reason = (
        f"{steak.reaction_s:.0f} s passed from “pull now” to off, {_too_many(steak, slow_s, case)}"
    )
    if steak.rise_at_off_c_per_min is not None:
        rise = steak.rise_at_off_c_per_min
        reason += (
            f", which at {case.degrees.apart(rise)} a minute is "
            f"{case.degrees.apart(rise * slow_s / 60.0)}"
        )
    ready = _last_lead(steak, case)
    by = "before “pull now”" if ready is None else f"by “{ready}”"
    words = f"Stand at the grate {by} and take {steak.steak} off at “pull now”."
    return Advice(words, f"{reason}{case.taught('reaction')}.", slow_s / SLOW_S)


def _too_many(steak: SteakFacts, slow_s: float, case: Case) -> str:
    """What the seconds too many are held against."""
    allowed = _allowed_s(case)
    if steak.reaction_s is not None and slow_s < steak.reaction_s - allowed:
        return f"{slow_s:.0f} s of them past its pull temperature"
    return f"{slow_s:.0f} s more than the {allowed:.0f} s allowed for"


def _last_lead(steak: SteakFacts, case: Case) -> str | None:
    """The seconds that were called last before "pull now"."""
    called = [
        said.text
        for said in case.facts.said
        if said.call == CallKind.PULL_SOON and steak.steak in said.steaks
        if steak.now_t is None or said.t <= steak.now_t
    ]
    found = _SECONDS.search(called[-1]) if called else None
    return None if found is None else found[0]


def _late(steak: SteakFacts, apart: float, degrees: Degrees) -> Advice:
    called = "“pull now” was called" if steak.now_t is not None else "“pull now” was not called"
    return Advice(
        f"Take {steak.steak} off at its pull temperature.",
        f"{_off(steak, apart, degrees)} above the pull; {called}.",
        apart / WORTH_C,
    )


def _early(steak: SteakFacts, apart: float, case: Case) -> Advice:
    soon, late = "", late_s(steak)
    if late is not None and late < 0.0:
        soon = f", about {-late:.0f} s before it would have been there"
    words = f"Leave {steak.steak} on until “pull now”."
    if steak.reaction_s is not None:
        words = f"Leave {steak.steak} on until its pull temperature: “pull now” came early."
        soon += f"; it was off {steak.reaction_s:.0f} s after “pull now”"
        soon += f", which was called for {_allowed_s(case):.1f} s{case.taught('reaction')}"
    return Advice(
        words, f"{_off(steak, apart, case.degrees)} below the pull{soon}.", -apart / WORTH_C
    )


def _off(steak: SteakFacts, apart: float, degrees: Degrees) -> str:
    assert steak.off_c is not None
    return f"It came off at {degrees.at(steak.off_c)}, {degrees.apart(apart)}"


@dataclass(frozen=True, slots=True)
class _Miss:
    """A peak beside its target by ``by_c``, had it come off at the pull temperature (Celsius);
    ``off_c`` would have met the target."""

    pull_c: float
    peak_c: float
    target_c: float
    by_c: float
    off_c: float


def aimed(case: Case) -> Iterator[Advice]:
    """The peak missed the target although, or even if, it came off at the pull temperature."""
    for steak in case.facts.steaks:
        miss = _miss(steak)
        if miss is None or abs(miss.by_c) < WORTH_C:
            continue
        if abs(miss.by_c) > ODD_C:
            yield _odd(steak, miss, case)
        else:
            yield from _aim(steak, miss, case)


def _miss(steak: SteakFacts) -> _Miss | None:
    off_c, pull_c, peak_c = steak.off_c, steak.pull_c, steak.peak_c
    target_c = steak.settings.target_c
    if off_c is None or pull_c is None or peak_c is None or target_c is None:
        return None
    by_c = peak_c - PEAK_PER_PULL * (off_c - pull_c) - target_c
    return _Miss(pull_c, peak_c, target_c, by_c, off_for_peak_c(off_c, peak_c, target_c))


def _odd(steak: SteakFacts, miss: _Miss, case: Case) -> Advice:
    return Advice(
        f"Check where the probe of {steak.steak} sat, and with a hand-held thermometer.",
        f"{_missed(steak, miss, case.degrees)}: more than carry-over explains.",
        abs(miss.by_c) / WORTH_C,
    )


def _aim(steak: SteakFacts, miss: _Miss, case: Case) -> Iterator[Advice]:
    """What is left to change once the lesson in force has changed its part by itself."""
    degrees, whole = case.degrees, miss.off_c - miss.pull_c
    by_itself = _by_itself_c(steak, case)
    change = whole - by_itself
    if change * whole <= 0.0 or abs(change) < WORTH_C:
        return
    when = "earlier" if change < 0.0 else "later"
    words = f"Pull {steak.steak} {degrees.apart(change)} {when}: at {degrees.at(miss.off_c)}."
    if steak.settings.pull_by is PullBy.TARGET:
        shift = degrees.signed(steak.settings.shift_c + change)
        words = f"Pull {steak.steak} {degrees.apart(change)} {when}: set its shift to {shift}."
    reason = f"{_missed(steak, miss, degrees)}{_climbed(steak, degrees)}"
    if by_itself:
        reason += f"; what was taught pulls it {degrees.signed(by_itself)} by itself"
    weight = abs(change) * PEAK_PER_PULL / WORTH_C
    yield Advice(words, f"{reason}{case.taught('carry_over')}.", weight)


def _by_itself_c(steak: SteakFacts, case: Case) -> float:
    """How much later (earlier: negative) the next cook is pulled than this one because of the
    carry-over in force, kelvin. A pull temperature that was set stays where it is."""
    lesson = next((one for one in case.lessons if one.name == "carry_over"), None)
    by_forecast = case.facts.setup.carry_over is CarryOver.FORECAST
    if lesson is None or steak.settings.pull_by is not PullBy.TARGET or not by_forecast:
        return 0.0
    shift_c = lesson.in_force - lesson.default
    if lesson.is_changed and lesson.mode is Mode.OWN and steak.climb_told_c is not None:
        shift_c = lesson.in_force - (steak.climb_told_c.p50 - steak.climb_taught_c)
    return steak.climb_taught_c - shift_c


def _missed(steak: SteakFacts, miss: _Miss, degrees: Degrees) -> str:
    side = "above" if miss.peak_c > miss.target_c else "below"
    apart = degrees.apart(miss.peak_c - miss.target_c)
    return f"{capital(steak.steak)} peaked at {degrees.at(miss.peak_c)}, {apart} {side} its target"


def _climbed(steak: SteakFacts, degrees: Degrees) -> str:
    if steak.climb_c is None:
        return ""
    told = ""
    if steak.climb_told_c is not None:
        told = f", told {degrees.apart(steak.climb_told_c.p50)}"
    return f"; it climbed {degrees.apart(steak.climb_c)} after off{told}"

"""At the grill: turns and flip, the fire, and two steaks for one pair of hands."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from pullcall.events import MarkKind
from pullcall.hindsight.facts import DoneMark, SteakFacts
from pullcall.plan.offset import APART_S
from pullcall.report.advising.advice import Advice, Case
from pullcall.report.degrees import capital, clock, span

#: A turn or flip so far from its time is off the pattern, seconds: the call comes 10 s ahead and
#: is called once more 8 s after.
OFF_PATTERN_S = 15.0
#: Two pulls farther apart than this and the first is past its rest as the second begins it,
#: seconds: about half a rest (common practice, no source).
FAR_APART_S = 240.0
#: A fire that fell by so much between the first on and the last off is worth coal, kelvin.
FELL_C = 30.0
#: The grate's last minutes, seconds.
_LAST_S = 120.0
_PATTERN = (MarkKind.TURN, MarkKind.FLIP)


def patterned(case: Case) -> Iterator[Advice]:
    """For each steak the turn or flip that was farthest from its time; then a flip not marked."""
    for steak in case.facts.steaks:
        late = [(m.t - m.planned_t, m) for m in steak.marks if m.planned_t is not None]
        acts = [(by, mark) for by, mark in late if mark.mark in _PATTERN]
        if acts and abs((worst := max(acts, key=lambda act: abs(act[0])))[0]) >= OFF_PATTERN_S:
            yield _off_pattern(steak, *worst)
        yield from _unflipped(case, steak)


def _off_pattern(steak: SteakFacts, by_s: float, mark: DoneMark) -> Advice:
    assert mark.planned_t is not None
    when, how = ("after", "sooner") if by_s > 0.0 else ("before", "later")
    at = "" if steak.on_t is None else f", {clock(mark.t - steak.on_t)} after on"
    planned = "" if steak.on_t is None else f" instead of {clock(mark.planned_t - steak.on_t)}"
    return Advice(
        f"{capital(steak.steak)}: {mark.mark.value} {how}, at the call.",
        f"It came {span(by_s)} {when} its time{at}{planned}.",
        abs(by_s) / OFF_PATTERN_S,
    )


def _unflipped(case: Case, steak: SteakFacts) -> Iterator[Advice]:
    planned = any(m.mark is MarkKind.FLIP for m in case.facts.setup.plan)
    flipped = any(m.mark is MarkKind.FLIP for m in steak.marks)
    if planned and not flipped and steak.on_t is not None and steak.off_t is not None:
        yield Advice(
            f"Tap the flip of {steak.steak}.",
            "None was marked between on and off, and the forecast goes by it.",
            1.2,
        )


def burned(case: Case) -> Iterator[Advice]:
    """The grate at the first on, its lowest and highest, and its fall."""
    fire, limits, degrees = case.facts.fire, case.facts.setup.fire, case.degrees
    floor, ceiling = degrees.whole(limits.floor_c), degrees.whole(limits.ceiling_c)
    if fire.at_on_c is not None and fire.at_on_c < limits.floor_c:
        short = limits.floor_c - fire.at_on_c
        yield Advice(
            f"Wait for the grate: {floor} before the first steak goes on.",
            f"It was {degrees.whole(fire.at_on_c)} as the first went on, "
            f"{degrees.apart(short)} short.",
            1.5 + short / FELL_C,
        )
    elif fire.low_c is not None and fire.low_c < limits.floor_c:
        yield Advice(
            "Pour more coal, or put the steaks on sooner after it is hot.",
            f"The grate fell to {degrees.whole(fire.low_c)} while they cooked, floor {floor}.",
            1.0 + (limits.floor_c - fire.low_c) / FELL_C,
        )
    elif (fell := _fell_c(case)) is not None and fell >= FELL_C:
        yield Advice(
            "Pour more coal, for a fire that lasts.",
            f"The grate fell {degrees.apart(fell)} from the first on to the last off.",
            fell / FELL_C,
        )
    if fire.high_c is not None and fire.high_c > limits.ceiling_c:
        yield Advice(
            "Let the flare burn down, or spread the coal.",
            f"The grate rose to {degrees.whole(fire.high_c)}, ceiling {ceiling}.",
            1.0 + (fire.high_c - limits.ceiling_c) / FELL_C,
        )


def _fell_c(case: Case) -> float | None:
    """How far the grate fell from the first on to the last two minutes before the last off."""
    fire, off = case.facts.fire, [s.off_t for s in case.facts.steaks if s.off_t is not None]
    if fire.at_on_c is None or not off:
        return None
    last = [c for t, c in fire.trace if max(off) - _LAST_S <= t <= max(off)]
    return fire.at_on_c - sum(last) / len(last) if last else None


#: So much less than a pair of hands needs is not worth telling, s.
NEAR_ENOUGH_S = 5.0


def apart(case: Case) -> Iterator[Advice]:
    """Pulls too close together for one pair of hands, or so far apart that rests differ."""
    off = [(s.off_t, s) for s in case.facts.steaks if s.off_t is not None]
    for (first_t, first), (then_t, then) in pairwise(sorted(off, key=lambda pair: pair[0])):
        gap = then_t - first_t
        reason = f"{capital(first.steak)} and {then.steak} came off {span(gap)} apart"
        if gap < APART_S - NEAR_ENOUGH_S:
            later = APART_S - gap
            yield Advice(
                f"Put {then.steak} on {_fives(later)} s later.",
                f"{reason}; {APART_S:.0f} s leave time for one pair of hands.",
                1.0 + later / APART_S,
            )
        elif gap > FAR_APART_S:
            yield Advice(
                f"Put {then.steak} on {span(gap - APART_S * 2)} sooner, or {first.steak} later.",
                f"{reason}, so {first.steak} was {span(gap)} further in its rest.",
                gap / FAR_APART_S,
            )


def _fives(seconds: float) -> int:
    """Rounded up to five seconds."""
    return 5 * -int(-seconds // 5)

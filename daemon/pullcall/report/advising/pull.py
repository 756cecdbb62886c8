"""The pull: taken off late or early, and a pull temperature that missed the target."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pullcall.events import PullBy
from pullcall.hindsight.facts import SteakFacts
from pullcall.report.advising.advice import Advice, Case
from pullcall.report.degrees import Degrees, capital
from pullcall.report.measures import against_pull_c
from pullcall.report.sensitivity import PEAK_PER_PULL, off_for_peak_c

#: Longer from "pull now" to off is slow, seconds: the call comes 3 s ahead, and reaching for the
#: tongs takes about as long again (common practice, no source).
SLOW_S = 6.0
#: So far off the pull temperature or the target is worth a change, kelvin: two probes of one
#: kind differ by about as much (common practice, no source).
WORTH_C = 0.6
#: A target missed by more is not the carry-over's doing, kelvin.
ODD_C = 4.0


def pulled(case: Case) -> Iterator[Advice]:
    """Slow after the call, or off above or below the pull temperature."""
    for steak in case.facts.steaks:
        apart = against_pull_c(steak)
        if steak.reaction_s is not None and steak.reaction_s >= SLOW_S:
            yield _slow(steak, steak.reaction_s, case)
        elif apart is not None and apart >= WORTH_C:
            yield _late(steak, apart, case.degrees)
        elif apart is not None and apart <= -WORTH_C:
            yield _early(steak, apart, case.degrees)


def _slow(steak: SteakFacts, reaction_s: float, case: Case) -> Advice:
    reason = f"{reaction_s:.0f} s passed from “pull now” to off"
    if steak.rise_at_off_c_per_min is not None:
        rise = steak.rise_at_off_c_per_min
        reason += (
            f", which at {case.degrees.apart(rise)} a minute is "
            f"{case.degrees.apart(rise * reaction_s / 60.0)}"
        )
    words = f"Stand at the grate by “10” and take {steak.steak} off at “pull now”."
    return Advice(words, f"{reason}{case.taught('reaction')}.", reaction_s / SLOW_S)


def _late(steak: SteakFacts, apart: float, degrees: Degrees) -> Advice:
    called = "“pull now” was called" if steak.now_t is not None else "“pull now” was not called"
    return Advice(
        f"Take {steak.steak} off at its pull temperature.",
        f"{_off(steak, apart, degrees)} above the pull; {called}.",
        apart / WORTH_C,
    )


def _early(steak: SteakFacts, apart: float, degrees: Degrees) -> Advice:
    soon = ""
    if steak.cross_t is not None and steak.off_t is not None and steak.cross_t > steak.off_t:
        soon = f", about {steak.cross_t - steak.off_t:.0f} s before it would have been there"
    return Advice(
        f"Leave {steak.steak} on until “pull now”.",
        f"{_off(steak, apart, degrees)} below the pull{soon}.",
        -apart / WORTH_C,
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
        yield _odd(steak, miss, case) if abs(miss.by_c) > ODD_C else _aim(steak, miss, case)


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


def _aim(steak: SteakFacts, miss: _Miss, case: Case) -> Advice:
    degrees, change = case.degrees, miss.off_c - miss.pull_c
    when = "earlier" if change < 0.0 else "later"
    words = f"Pull {steak.steak} {degrees.apart(change)} {when}: at {degrees.at(miss.off_c)}."
    if steak.settings.pull_by is PullBy.TARGET:
        shift = degrees.signed(steak.settings.shift_c + change)
        words = f"Pull {steak.steak} {degrees.apart(change)} {when}: set its shift to {shift}."
    reason = f"{_missed(steak, miss, degrees)}{_climbed(steak, degrees)}"
    return Advice(words, f"{reason}{case.taught('carry_over')}.", abs(miss.by_c) / WORTH_C)


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

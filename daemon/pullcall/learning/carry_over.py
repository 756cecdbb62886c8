"""How much more or less this cook's steaks climb after the pull than the forecast says."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import median

from pullcall.events import CarryOver, CookHeader, Lessons, Mark, MarkKind
from pullcall.forecast.engine import ForecastEngine
from pullcall.hindsight.facts import CookFacts, SteakFacts
from pullcall.learning.choice import Choice
from pullcall.learning.lesson import Evidence, Lesson
from pullcall.learning.setting import chosen, in_force
from pullcall.learning.shrink import Observed, Usual, estimate

#: How far the forecast is off from cook to cook and within one cook's cooks, and of one steak, C.
#: Between simulated cooks 0.6, 0.2 and 0.25 were measured; people are less alike each day.
USUAL, STEAK_SD_C = Usual(0.0, between=0.7, within=0.4), 0.4
#: A steak so much thicker or thinner, mm, or a fire so much hotter or colder, C, counts for 60 %.
_LIKE_MM, _LIKE_FIRE_C = 6.0, 40.0
#: A steak that rested on another surface, or a fire nobody measured, counts for this share.
_OTHER_REST, _UNKNOWN_FIRE = 0.3, 0.8
#: A steak less alike than this says nothing.
_LEAST_LIKE = 0.05
#: The shift that is learned is at most so large, C.
_MOST_SHIFT_C = 3.0
LEAST_C, MOST_C = 0.0, 8.0
_WHY = (
    "The highest core after off less the core at off, against what the forecast said of it at off. "
    "Steaks as thick, over as hot a fire and rested on the same surface count most. It moves the "
    "forecast peak and the pull temperature that reaches a target peak. An own figure is the "
    "climb itself, whatever would be forecast of the steak."
)


@dataclass(frozen=True, slots=True)
class _Seen:
    """One steak: its climb, what the forecast said without any lesson, and how alike it is."""

    cook: str
    steak: str
    climb_c: float
    told_c: float
    like: float

    @property
    def missed_c(self) -> float:
        """How much more it climbed than told."""
        return self.climb_c - self.told_c


def carry_over_lesson(
    facts: Sequence[CookFacts], usual: CookHeader, choices: Sequence[Choice]
) -> Lesson:
    """The climb of the next cook's steaks."""
    fire_c = _usual_fire_c(facts)
    by_cook = [list(_seen(cook, usual, fire_c)) for cook in facts]
    by_cook = [seen for seen in by_cook if seen]
    steaks = [one for seen in by_cook for one in seen]
    default_c = _mean_told(steaks) if steaks else _told_beforehand(usual)
    found = estimate([_observed(seen) for seen in by_cook], USUAL)
    shift_c = min(max(found.mean, -_MOST_SHIFT_C), _MOST_SHIFT_C)
    learned_c = min(max(default_c + shift_c, LEAST_C), MOST_C) if steaks else None
    choice = chosen("carry_over", choices)
    return Lesson(
        name="carry_over",
        label="Carry-over",
        unit="C",
        mode=choice.mode,
        default=default_c,
        learned=learned_c,
        own=choice.value,
        in_force=in_force(choice, default_c, learned_c),
        cooks=len(by_cook),
        why=_WHY,
        evidence=tuple(_evidence(by_cook, found.weights)),
        least=LEAST_C,
        most=MOST_C,
    )


def _seen(cook: CookFacts, usual: CookHeader, fire_c: float | None) -> Iterator[_Seen]:
    for steak in cook.steaks:
        climb_c, told = steak.climb_c, steak.climb_told_c
        like = _like(cook, steak, usual, fire_c)
        if climb_c is None or told is None or like < _LEAST_LIKE:
            continue
        plain_c = told.p50 - steak.climb_taught_c
        yield _Seen(cook.cook, steak.steak, climb_c, plain_c, like)


def _like(cook: CookFacts, steak: SteakFacts, usual: CookHeader, fire_c: float | None) -> float:
    """How much a steak has to do with those of the cook that begins, 0 to 1: of two that differ
    their mean thickness counts, since one figure is learned for both."""
    thick_mm = sum(s.thickness_mm for s in usual.steaks) / len(usual.steaks)
    like = _near(steak.settings.thickness_mm - thick_mm, _LIKE_MM)
    if cook.setup.rest_on != usual.rest_on:
        like *= _OTHER_REST
    measured_c = cook.fire.mean_c
    if fire_c is None or measured_c is None:
        return like * _UNKNOWN_FIRE
    return like * _near(measured_c - fire_c, _LIKE_FIRE_C)


def _near(difference: float, scale: float) -> float:
    return math.exp(-0.5 * (difference / scale) ** 2)


def _usual_fire_c(facts: Sequence[CookFacts]) -> float | None:
    """The fire of the next cook is not known yet: the middle of those before."""
    found = [cook.fire.mean_c for cook in facts if cook.fire.mean_c is not None]
    return median(found) if found else None


def _observed(seen: Sequence[_Seen]) -> Observed:
    """A cook's steaks as one, since they share their fire and their weather."""
    heard = sum(one.like for one in seen)
    missed_c = sum(one.like * one.missed_c for one in seen) / heard
    return Observed(missed_c, share=heard / len(seen), sd=STEAK_SD_C / math.sqrt(len(seen)))


def _mean_told(steaks: Sequence[_Seen]) -> float:
    heard = sum(one.like for one in steaks)
    return sum(one.like * one.told_c for one in steaks) / heard


def _evidence(by_cook: Sequence[Sequence[_Seen]], weights: Sequence[float]) -> Iterator[Evidence]:
    for seen, weight in zip(by_cook, weights, strict=True):
        heard = sum(one.like for one in seen)
        for one in seen:
            share = weight * one.like / heard
            yield Evidence(one.cook, one.steak, round(one.climb_c, 2), round(share, 3))


def _told_beforehand(usual: CookHeader) -> float:
    """The climb that the forecast expects before it has read anything, C."""
    header = replace(usual, lessons=Lessons(), carry_over=CarryOver.FORECAST)
    engine, steak = ForecastEngine(header), header.steaks[0].steak
    engine.update(Mark(0.0, steak, MarkKind.ON))
    for planned in header.plan:
        engine.update(Mark(planned.t, steak, planned.mark))
    told = engine.forecast(steak, max((planned.t for planned in header.plan), default=0.0))
    assert told.peak_c is not None and told.pull_c is not None and told.core_c is not None
    return max(told.peak_c.p50 - max(told.pull_c, told.core_c), 0.0)

"""What the forecast believes beforehand of this cook's grill, fire and probes.

What is believed in general of an unknown is split in two: how grills (and the cooks at them)
differ, and how one differs from day to day. Each past cook's belief at off, with the prior that
it began from divided out, tells of that day's; together they tell of the grill. The split, and
what is left out, were chosen by measurement (docs/learning.md).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from pullcall.events import CookHeader, Normal
from pullcall.forecast.prior import FIRE, STEAK, Unknown, taught_prior
from pullcall.hindsight.facts import CookFacts
from pullcall.learning.choice import Choice
from pullcall.learning.lesson import Evidence, Lesson
from pullcall.learning.setting import chosen, in_force
from pullcall.learning.shrink import Estimate, Observed, Usual, estimate

#: The lid's unknown is seldom seen, and of the steak only what is a habit of the cook's is learned.
_UNLEARNED = frozenset({"lid_drop"})
_HABITS = frozenset({"depth", "diffusivity", "lag"})
#: The share of what is believed in general that lies between grills; the rest is from day to day.
BETWEEN = 0.7
#: Readings err together and the unknowns are told one by one: evidence is so many times less sure.
DOUBT = 2.0
#: The spread is never narrower than this share of what is believed in general, nor the mean
#: farther from it than so many of its spreads.
NARROWEST, FARTHEST_SDS = 0.8, 2.5
#: A cook that learned less than this share of its prior's precision has nothing to say.
_NOTHING_NEW = 0.02
_SHOWN = "hot_level"
_WHY = (
    "From what the forecast had come to believe of the fire, the probe's place and the probe's lag "
    "by the time each steak came off, less what it believed beforehand. It moves where the "
    "forecast begins, most of all in the first minutes; readings have the last word."
)


@dataclass(frozen=True, slots=True)
class _Told:
    """What a cook told of one unknown."""

    cook: str
    observed: Observed


def _learned_unknowns() -> tuple[Unknown, ...]:
    fire = [unknown for unknown in FIRE if unknown.name not in _UNLEARNED]
    return (*fire, *(unknown for unknown in STEAK if unknown.name in _HABITS))


def grill_lesson(facts: Sequence[CookFacts], choices: Sequence[Choice]) -> Lesson:
    """The forecast's prior from earlier cooks; its one figure is the level of the heat below."""
    prior: dict[str, Normal] = {}
    cooks: set[str] = set()
    evidence: tuple[Evidence, ...] = ()
    for unknown in _learned_unknowns():
        told = list(_told(unknown, facts))
        if not told:
            continue
        found = estimate([one.observed for one in told], _usual(unknown))
        prior[unknown.name] = _next(unknown, found)
        cooks |= {one.cook for one in told}
        if unknown.name == _SHOWN:
            evidence = tuple(_evidence(told, found))
    return _lesson(prior, len(cooks), evidence, chosen("grill", choices))


def _lesson(
    prior: Mapping[str, Normal], cooks: int, evidence: tuple[Evidence, ...], choice: Choice
) -> Lesson:
    default_c = next(unknown.mean for unknown in FIRE if unknown.name == _SHOWN)
    learned_c = prior[_SHOWN].mean if _SHOWN in prior else None
    return Lesson(
        name="grill",
        label="Your grill",
        unit="",
        mode=choice.mode,
        default=default_c,
        learned=learned_c,
        own=None,
        in_force=in_force(choice, default_c, learned_c),
        cooks=cooks,
        why=_WHY,
        evidence=evidence,
        least=default_c,
        most=default_c,
        prior=MappingProxyType(dict(prior)),
    )


def _told(unknown: Unknown, facts: Sequence[CookFacts]) -> Iterator[_Told]:
    """Of each cook that learned something of it: of the fire its steaks tell the same thing, of
    a habit each tells its own."""
    for cook in facts:
        began = _began(unknown, cook.setup)
        found = [
            told
            for steak in cook.steaks
            if unknown.name in steak.believed
            and (told := _evidence_of(steak.believed[unknown.name], began)) is not None
        ]
        if found:
            sure = sum(precision for _, precision in found)
            mean = sum(value * precision for value, precision in found) / sure
            count = len(found) if unknown in FIRE else len(found) ** 2
            yield _Told(cook.cook, Observed(mean, sd=math.sqrt(DOUBT * count / sure)))


def _began(unknown: Unknown, setup: CookHeader) -> Normal:
    """What a cook believed of it beforehand."""
    usual = Normal(unknown.mean, unknown.sd)
    return dict(taught_prior(setup.lessons.prior)).get(unknown.name, usual)


def _evidence_of(believed: Normal, began: Normal) -> tuple[float, float] | None:
    """What the readings alone said: a value and its precision; None where they said nothing."""
    if believed.sd <= 0.0 or began.sd <= 0.0:
        return None
    before, after = began.sd**-2, believed.sd**-2
    precision = after - before
    if precision <= _NOTHING_NEW * before:
        return None
    return (believed.mean * after - began.mean * before) / precision, precision


def _usual(unknown: Unknown) -> Usual:
    return Usual(
        unknown.mean, math.sqrt(BETWEEN) * unknown.sd, math.sqrt(1.0 - BETWEEN) * unknown.sd
    )


def _next(unknown: Unknown, found: Estimate) -> Normal:
    """What the next cook begins with."""
    reach = FARTHEST_SDS * unknown.sd
    mean = min(max(found.mean, unknown.mean - reach), unknown.mean + reach)
    day = math.sqrt(1.0 - BETWEEN) * unknown.sd
    return Normal(mean, max(math.hypot(found.sd, day), NARROWEST * unknown.sd))


def _evidence(told: Sequence[_Told], found: Estimate) -> Iterator[Evidence]:
    for one, weight in zip(told, found.weights, strict=True):
        yield Evidence(one.cook, None, round(one.observed.value, 1), round(weight, 3))

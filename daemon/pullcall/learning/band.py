"""How wide the band of the pull ought to be, so that eight pulls in ten fall into it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from pullcall.hindsight.facts import CookFacts, LeadScore
from pullcall.learning.choice import Choice
from pullcall.learning.lesson import Evidence, Lesson
from pullcall.learning.setting import chosen, in_force
from pullcall.learning.shrink import Observed, Usual, estimate

#: Of the logarithm: how bands are off from cook to cook and within one cook's cooks, and how much
#: one steak's says by chance: a normal error's logarithm spreads by 1.1, and the forecasts of one
#: steak miss together, so that they count for two.
_USUAL, _STEAK_SD = Usual(0.0, between=0.25, within=0.2), 1.1 / math.sqrt(2.0)
#: The mean logarithm of a normal error over the half of its p10-p90 band, E ln|z| - ln 1.2816.
_OF_A_TRUE_BAND = -0.6352 - 0.2481
#: A half band is at least so wide, s, and a miss at least this share of it: forecasts are rounded.
_LEAST_HALF_S, _LEAST_MISS = 0.3, 0.05
#: What is learned lies between these; a cook may say more.
_LEARNED = (0.7, 1.6)
LEAST, MOST = 0.5, 3.0
_WHY = (
    "How far the forecasts of the pull were off against how wide their bands were, from two "
    "minutes before the crossing on. A number is only called while its band is narrow enough, so a "
    "wider band also means fewer and surer calls ahead."
)


def band_lesson(facts: Sequence[CookFacts], choices: Sequence[Choice]) -> Lesson:
    """How many times as wide as by default."""
    seen = [(cook, list(_found(cook))) for cook in facts]
    seen = [(cook, found) for cook, found in seen if found]
    logs = [_observed(found) for _, found in seen]
    estimated = estimate(logs, _USUAL)
    learned = min(max(math.exp(estimated.mean), _LEARNED[0]), _LEARNED[1]) if seen else None
    choice = chosen("band", choices)
    return Lesson(
        name="band",
        label="Width of the band",
        unit="x",
        mode=choice.mode,
        default=1.0,
        learned=learned,
        own=choice.value,
        in_force=in_force(choice, 1.0, learned),
        cooks=len(seen),
        why=_WHY,
        evidence=tuple(
            Evidence(cook.cook, steak, round(math.exp(log), 2), round(weight / len(found), 3))
            for (cook, found), weight in zip(seen, estimated.weights, strict=True)
            for steak, log in found
        ),
        least=LEAST,
        most=MOST,
    )


def _observed(found: Sequence[tuple[str, float]]) -> Observed:
    mean = sum(log for _, log in found) / len(found)
    return Observed(mean, sd=_STEAK_SD / math.sqrt(len(found)))


def _found(cook: CookFacts) -> Iterator[tuple[str, float]]:
    """By steak, the logarithm of how many times as wide its bands ought to have been by default."""
    for steak in cook.steaks:
        if steak.leads:
            misses = [_miss(score) for score in steak.leads]
            mean = sum(misses) / len(misses) - _OF_A_TRUE_BAND
            yield steak.steak, mean + math.log(cook.setup.lessons.band)


def _miss(score: LeadScore) -> float:
    """The logarithm of a miss over its half of the band."""
    pull = score.pull_in_s
    half_s = pull.p50 - pull.p10 if score.error_s > 0.0 else pull.p90 - pull.p50
    return math.log(max(abs(score.error_s) / max(half_s, _LEAST_HALF_S), _LEAST_MISS))

"""How wide the band of the pull ought to be, from how the cook's own pulls fell.

Split conformal prediction: of n past pulls that are like the next one, the next truth lies within
q half-widths of the middle with at least the share meant, where q is the ceil((n + 1) x share)-th
smallest of their scores (Lei et al., "Distribution-Free Predictive Inference for Regression", JASA
113 (2018), section 2.2). A pull counts once, however many forecasts were made of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median

from pullcall.hindsight.facts import CookFacts, LeadScore, SteakFacts
from pullcall.hindsight.scores import HELD

#: The leads at which a pull's score is looked for, s: those at which a pull is called. At 120 s
#: a flip may still come between.
LEADS_S = (60.0, 40.0, 20.0)
#: With fewer pulls nothing is said: the share of so few tells nothing, and below four there is no
#: quantile of that share at all.
FEWEST = 8
#: What the pulls held is taken for chance down to this likelihood (exact, two-sided).
CHANCE = 0.10
#: No band becomes narrower or wider than so many times what it was.
LEAST, MOST = 0.5, 3.0
#: The quantile is itself a guess: for normal errors its logarithm has a variance of
#: share (1 - share) / (n f^2) = 0.79 / n (f, the density of log |z| at its quantile, is 0.45),
#: and cooks are taken to lie within 0.3 of one another in that logarithm (assumed, no source). It
#: counts as n / (n + 0.79 / 0.3^2) against no change.
_SHRINK = 8.8
#: No half of a band is narrower than this, s: a truth is not known better.
_NARROWEST_S = 0.5


@dataclass(frozen=True, slots=True)
class PullScore:
    """How many half-widths of the band (as it comes without any lesson) one pull missed the
    middle by."""

    cook: str
    steak: str
    score: float


@dataclass(frozen=True, slots=True)
class Band:
    """The band of the pull ought to be ``factor`` times as wide (1: as it is).

    ``covered`` of ``count`` pulls lay within it; ``found`` is what their quantile alone would ask
    for, None where there are too few. ``words`` say what was done and why.
    """

    factor: float
    count: int
    covered: int
    found: float | None
    words: str
    evidence: tuple[PullScore, ...]


def band(cooks: Iterable[CookFacts]) -> Band:
    """The width that past pulls ask for."""
    evidence = tuple(_evidence(cooks))
    scores = sorted(pull.score for pull in evidence)
    count, covered = len(scores), sum(score <= 1.0 for score in scores)
    if count < FEWEST:
        words = f"{count} of the {FEWEST} pulls it takes to judge the band: left as it is"
        return Band(1.0, count, covered, None, words, evidence)
    found = scores[math.ceil((count + 1) * HELD) - 1]
    held = f"the band held {covered} of your {count} pulls, meant are {HELD * count:.0f}"
    if is_chance(covered, count):
        return Band(
            1.0, count, covered, found, f"{held}: as good as meant, left as it is", evidence
        )
    factor = shrunk(found, count)
    return Band(factor, count, covered, found, f"{held}: {factor:.2f} times as wide", evidence)


def pull_score(steak: SteakFacts, band_in_force: float) -> float | None:
    """A pull's score: the median over its leads; None where it has none."""
    scores = [_score(lead) for lead in steak.leads if lead.lead_s in LEADS_S]
    return median(scores) * band_in_force if scores else None


def shrunk(found: float, count: int) -> float:
    """The quantile of ``count`` scores as a factor: nearer to one the fewer they are, limited."""
    share = count / (count + _SHRINK)
    factor = math.exp(share * math.log(min(max(found, 1e-3), 1e3)))
    return round(min(max(factor, LEAST), MOST), 3)


def is_chance(covered: int, count: int) -> bool:
    """Whether a band that holds the share meant would hold so many or so few, or fewer."""
    likely = [_likelihood(k, count) for k in range(count + 1)]
    seen = likely[covered] * (1.0 + 1e-9)
    return sum(one for one in likely if one <= seen) > CHANCE


def _likelihood(covered: int, count: int) -> float:
    return math.comb(count, covered) * HELD**covered * (1.0 - HELD) ** (count - covered)


def _evidence(cooks: Iterable[CookFacts]) -> Iterable[PullScore]:
    """A band that a lesson had widened held more than it would have."""
    for cook in cooks:
        for steak in cook.steaks:
            score = pull_score(steak, cook.setup.lessons.band)
            if score is not None:
                yield PullScore(cook.cook, steak.steak, score)


def _score(lead: LeadScore) -> float:
    told, truth = lead.pull_in_s, lead.true_in_s
    half_s = told.p90 - told.p50 if truth >= told.p50 else told.p50 - told.p10
    return abs(truth - told.p50) / max(half_s, _NARROWEST_S)

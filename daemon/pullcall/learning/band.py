"""How wide the band of the pull ought to be, so that eight pulls in ten fall into it."""

from __future__ import annotations

from collections.abc import Sequence

from pullcall.hindsight.bands import LEAST, MOST, band
from pullcall.hindsight.facts import CookFacts
from pullcall.learning.choice import Choice
from pullcall.learning.lesson import Evidence, Lesson
from pullcall.learning.setting import chosen, in_force

_WHY = (
    "How far the forecasts of the pull were off against how wide their bands were, at 60, 40 and "
    "20 s. A number is only called while its band is narrow enough, so a wider band also means "
    "fewer and surer calls ahead. So far {}."
)


def band_lesson(facts: Sequence[CookFacts], choices: Sequence[Choice]) -> Lesson:
    """How many times as wide as by default; what is left as it is was not learned otherwise."""
    found = band(facts)
    learned = None if found.found is None else found.factor
    choice = chosen("band", choices)
    weight = 0.0 if learned is None else round(1.0 / found.count, 3)
    return Lesson(
        name="band",
        label="Width of the band",
        unit="x",
        mode=choice.mode,
        default=1.0,
        learned=learned,
        own=choice.value,
        in_force=in_force(choice, 1.0, learned),
        cooks=len({pull.cook for pull in found.evidence}),
        why=_WHY.format(found.words),
        evidence=tuple(
            Evidence(pull.cook, pull.steak, round(pull.score, 2), weight) for pull in found.evidence
        ),
        least=LEAST,
        most=MOST,
    )

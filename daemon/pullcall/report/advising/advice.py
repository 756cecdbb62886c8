"""One piece of advice, and what a rule may look at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pullcall.hindsight.facts import CookFacts
from pullcall.learning.lesson import Lesson, words
from pullcall.report.degrees import Degrees


@dataclass(frozen=True, slots=True)
class Advice:
    """``words`` say what to do, ``reason`` which figures say so. ``weight`` is 1 where it is just
    worth saying, more the more it matters, and less for what could not be said."""

    words: str
    reason: str
    weight: float


@dataclass(frozen=True, slots=True)
class Case:
    """What a rule looks at. ``earlier`` are the cooks before, the latest last."""

    facts: CookFacts
    earlier: Sequence[CookFacts]
    lessons: Sequence[Lesson]
    degrees: Degrees

    def taught(self, name: str) -> str:
        """What earlier cooks taught of it, to end a reason with; empty where nothing."""
        for lesson in self.lessons:
            if lesson.name == name and lesson.learned is not None:
                what = f"{lesson.label[:1].lower()}{lesson.label[1:]}"
                return f" (next cook’s {what}: {words(lesson, self.degrees.letter)})"
        return ""

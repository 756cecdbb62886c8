"""One piece of advice, and what a rule may look at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from pullcall.hindsight.facts import CookFacts
from pullcall.report.degrees import Degrees


class Taught(Protocol):
    """A lesson of earlier cooks: its name, and the sentence that is said of it."""

    @property
    def name(self) -> str:
        """What it is called, such as ``carry_over``."""

    @property
    def label(self) -> str:
        """What it is about, in words."""

    @property
    def words(self) -> str:
        """The sentence, with its figures."""


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
    lessons: Sequence[Taught]
    degrees: Degrees

    def taught(self, name: str) -> str:
        """What earlier cooks taught of it, to end a reason with; empty where nothing."""
        found = (lesson for lesson in self.lessons if lesson.name == name)
        return next((f" ({lesson.label}: {lesson.words})" for lesson in found), "")

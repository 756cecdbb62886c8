"""What earlier cooks teach, and a new cook that begins with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from types import MappingProxyType

from pullcall.events import CookHeader, Lessons
from pullcall.hindsight.facts import CookFacts
from pullcall.learning.band import band_lesson
from pullcall.learning.carry_over import carry_over_lesson
from pullcall.learning.choice import Choice, Mode
from pullcall.learning.durations import duration_lessons, taught_durations
from pullcall.learning.grill import grill_lesson
from pullcall.learning.lesson import Lesson

#: Every lesson there is, in the order in which they are shown.
NAMES = ("heat_up", "box", "walk", "reaction", "carry_over", "band", "grill")

#: The latest cooks teach; older ones were of another fire and another hand.
TEACHING = 40


def learn(
    facts: Sequence[CookFacts], usual: CookHeader, choices: Sequence[Choice]
) -> tuple[Lesson, ...]:
    """One lesson of each of :data:`NAMES`, for a next cook that begins as ``usual``:
    what is like its steaks, its rest and its durations counts.

    Only simulated cooks teach a simulated one, and only real ones a real one, the latest
    :data:`TEACHING` of them (``facts`` with the latest last).
    """
    like = [cook for cook in facts if cook.setup.simulated == usual.simulated]
    heard = like[-TEACHING:]
    return (
        *duration_lessons(heard, usual, choices),
        carry_over_lesson(heard, usual, choices),
        band_lesson(heard, choices),
        grill_lesson(heard, choices),
    )


def taught(header: CookHeader, lessons: Sequence[Lesson]) -> CookHeader:
    """A new cook's header with what is in force; what is as by default changes nothing."""
    changed = {lesson.name: lesson for lesson in lessons if lesson.is_changed}
    durations = taught_durations(changed)
    return replace(
        header,
        durations=MappingProxyType({**header.durations, **durations}),
        lessons=Lessons(
            durations=tuple(durations),
            prior=changed["grill"].prior if "grill" in changed else MappingProxyType({}),
            climb_c=_shift(changed.get("carry_over")),
            own_climb_c=_own(changed.get("carry_over")),
            band=round(changed["band"].in_force, 3) if "band" in changed else 1.0,
            reaction_s=round(changed["reaction"].in_force, 2) if "reaction" in changed else 0.0,
        ),
    )


def untaught(header: CookHeader) -> CookHeader:
    """A cook's header without what earlier cooks taught."""
    own = {n: r for n, r in header.durations.items() if n not in header.lessons.durations}
    return replace(header, durations=MappingProxyType(own), lessons=Lessons())


def _shift(carry_over: Lesson | None) -> float:
    """What was learned is a difference to the forecast, so that it goes with each steak."""
    if carry_over is None or carry_over.mode is Mode.OWN:
        return 0.0
    return round(carry_over.in_force - carry_over.default, 2)


def _own(carry_over: Lesson | None) -> float | None:
    """An own climb is one's own whatever the forecast would say of the steak."""
    if carry_over is None or carry_over.mode is not Mode.OWN:
        return None
    return round(carry_over.in_force, 2)

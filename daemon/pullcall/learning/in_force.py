"""What a cook began with that earlier cooks taught, in words: nothing of it is silent."""

from __future__ import annotations

from collections.abc import Iterator

from pullcall.calls.reaction import earlier_s
from pullcall.events import Lessons

_STEPS = {"heat_up": "heating the grate", "box": "boxing", "walk": "the walk"}


def in_force(lessons: Lessons) -> tuple[str, ...]:
    """Each thing that lessons change."""
    return (*(_STEPS.get(name, name) for name in lessons.durations), *_figures(lessons))


def _figures(lessons: Lessons) -> Iterator[str]:
    early_s = round(earlier_s(lessons.reaction_s), 1)
    if early_s:
        yield f"“pull now” {early_s:.1f} s earlier for your reaction"
    if lessons.climb_c or lessons.own_climb_c is not None:
        yield "carry-over"
    if lessons.band != 1.0:
        yield "width of the band"
    if lessons.prior:
        yield "the heat of your grill"

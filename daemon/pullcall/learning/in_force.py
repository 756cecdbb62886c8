"""What a cook began with that earlier cooks taught, in words: nothing of it is silent."""

from __future__ import annotations

from collections.abc import Iterator

from pullcall.events import CookHeader

_STEPS = {"heat_up": "heating the grate", "box": "boxing", "walk": "the walk"}


def in_force(header: CookHeader, usual: CookHeader) -> tuple[str, ...]:
    """Each thing in which ``header`` differs from ``usual`` because of its lessons."""
    return (*_durations(header, usual), *_lessons(header))


def _durations(header: CookHeader, usual: CookHeader) -> Iterator[str]:
    for name, words in _STEPS.items():
        if header.durations.get(name) != usual.durations.get(name):
            yield words


def _lessons(header: CookHeader) -> Iterator[str]:
    lessons = header.lessons
    if lessons.reaction_s:
        yield f"“pull now” {lessons.reaction_s:.1f} s earlier for your reaction"
    if lessons.climb_c:
        yield "carry-over"
    if lessons.band != 1.0:
        yield "width of the band"
    if lessons.prior:
        yield "the heat of your grill"

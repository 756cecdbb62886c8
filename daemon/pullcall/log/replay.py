"""A logged cook through the same core as life, as fast as it goes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pullcall.core.cook import Cook, Effect
from pullcall.events import Input
from pullcall.log.cook_file import CookFile


@dataclass(frozen=True, slots=True)
class Step:
    """An input, or (None) a second that went by, at ``t`` cook seconds, and what followed.

    ``cook`` is the cook as it stands then; the next step changes it.
    """

    event: Input | None
    effects: list[Effect]
    t: float
    cook: Cook


def steps(recorded: CookFile) -> Iterator[Step]:
    """A recorded cook second by second and input by input, as live, up to its last record."""
    cook = Cook(recorded.header)
    begun = False
    for event in recorded.inputs:
        if begun or event.t >= 0.0:
            yield from _seconds(cook, event.t, up_to=False)
        begun = True
        yield Step(event, cook.apply(event), event.t, cook)
    last = max((event.t for event in recorded.inputs), default=0.0)
    yield from _seconds(cook, max(0.0, last), up_to=True)


def replay(recorded: CookFile) -> Iterator[Effect]:
    """Every forecast and call of a recorded cook, in order, up to its last record."""
    for step in steps(recorded):
        yield from step.effects


def _seconds(cook: Cook, end: float, *, up_to: bool) -> Iterator[Step]:
    """The seconds before ``end``, or up to and with it."""
    while (tick := cook.next_tick) < end or (up_to and tick == end):
        yield Step(None, cook.advance(tick), tick, cook)

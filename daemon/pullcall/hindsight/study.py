"""A cook that is over, worked out anew in one pass of the very core that ran it."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from pullcall.core.cook import Cook, Effect
from pullcall.core.failure import begin, run, take
from pullcall.core.setup import window_of
from pullcall.core.steak import SteakState
from pullcall.events import Input, MarkKind
from pullcall.hindsight.alarms import AlarmWatch
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.grate import GrateWatch
from pullcall.hindsight.steaks import steak_facts
from pullcall.hindsight.steps import StepWatch
from pullcall.hindsight.watched import SteakWatch
from pullcall.log.cook_file import CookFile

#: Called after each step of the pass with the input (None for a second that went by), what
#: followed, the step's time in cook seconds, and the cook as it stands then.
Follower = Callable[[Input | None, list[Effect], float, Cook], None]


def study(
    recorded: CookFile,
    logged_calls: Sequence[str] | None = None,
    follow: Iterable[Follower] = (),
) -> CookFacts:
    """What is known of a recorded cook; every one of ``follow`` sees the same pass.

    ``logged_calls`` are the announcements as logged, a JSON line each, to be compared with those
    made now. Costs about two seconds for each quarter of an hour of two steaks. Raises
    CoreFailedError where the core fails.
    """
    watches = _Watches(recorded)
    followers = (*watches.all(), *follow)
    cook = begin(recorded.header)
    for event, effects, t in steps(cook, recorded.inputs):
        for follower in followers:
            follower(event, effects, t, cook)
    return watches.facts(cook, logged_calls)


def steps(
    cook: Cook, inputs: Iterable[Input]
) -> Iterator[tuple[Input | None, list[Effect], float]]:
    """Each input, and each whole second up to the last of them, as a step of its own."""
    last_t = 0.0
    for event in inputs:
        yield from _seconds(cook, math.ceil(event.t) - 1)
        yield event, take(cook, event), event.t
        last_t = max(last_t, event.t)
    yield from _seconds(cook, last_t)


def _seconds(cook: Cook, until: float) -> Iterator[tuple[None, list[Effect], float]]:
    while (t := cook.next_tick) <= until:
        yield None, run(cook, t), t


class _Watches:
    """Who looks at what during the pass."""

    def __init__(self, recorded: CookFile) -> None:
        self._ends_t = max((event.t for event in recorded.inputs), default=0.0)
        self._steaks = [SteakWatch(name) for name in recorded.header.names()]
        self._alarms, self._grate, self._steps = AlarmWatch(), GrateWatch(), StepWatch()

    def all(self) -> tuple[Follower, ...]:
        """Every one of them."""
        return (*self._steaks, self._alarms, self._grate, self._steps)

    def facts(self, cook: Cook, logged_calls: Sequence[str] | None) -> CookFacts:
        """What they saw, put together."""
        states = cook.steaks.values()
        fire = self._grate.facts(_first_on(states), _last_off(states))
        rested = {watch.name: watch.rested_t for watch in self._steaks}
        setup = replace(cook.setup, steaks=tuple(state.settings for state in states))
        on_t = _first_on(states)
        return CookFacts(
            setup.cook,
            setup,
            self._ends_t,
            steaks=tuple(steak_facts(w, cook, self._wanted(cook, w.name)) for w in self._steaks),
            fire=fire,
            steps=self._steps.facts(cook, rested, fire.ready_t),
            said=self._alarms.said(),
            alarms=self._alarms.facts(),
            window_t=window_of(setup),
            chance_at_on=None if on_t is None else self._steps.chance_at(on_t),
            as_called=_are_the_same(logged_calls, self._alarms.lines),
        )

    def _wanted(self, cook: Cook, name: str) -> dict[MarkKind, float | None]:
        """When the plan wanted a steak on, in its box and handed in."""
        state = cook.steaks[name]
        return {
            MarkKind.ON: self._steps.planned_t(("cook", name), state.on_t),
            MarkKind.BOXED: self._steps.planned_t(("walk", None), state.boxed_t),
            MarkKind.HANDED_IN: self._steps.planned_t(("hand_in", None), state.handed_in_t),
        }


def _first_on(steaks: Iterable[SteakState]) -> float | None:
    return min((s.on_t for s in steaks if s.on_t is not None), default=None)


def _last_off(steaks: Iterable[SteakState]) -> float | None:
    """When the last one that was on came off; None while one is on."""
    offs = [s.off_t for s in steaks if s.on_t is not None]
    return None if None in offs else max((t for t in offs if t is not None), default=None)


def _are_the_same(logged: Sequence[str] | None, made: Sequence[str]) -> bool | None:
    """Whether the calls logged are the calls made; None where none were logged."""
    if not logged:
        return None
    return [json.loads(line) for line in logged] == [json.loads(line) for line in made]

"""How long the cook takes: the grate's heating up, boxing, the walk, and pulling when told.

Durations are normal by their logarithm: a step takes half as long again as likely as a third less.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pullcall.calls.rules import LONGEST_REACTION_S, USUAL_REACTION_S
from pullcall.events import CookHeader, Range
from pullcall.hindsight.facts import CookFacts
from pullcall.learning.choice import Choice, Mode
from pullcall.learning.lesson import Evidence, Lesson
from pullcall.learning.setting import chosen, in_force
from pullcall.learning.shrink import Estimate, Observed, Usual, estimate
from pullcall.plan.steps import takes

#: A flat range is as wide as a normal spread when each side is so many deviations long.
_FLAT = math.sqrt(3.0)
#: Anything shorter was two taps in a row, s; of a reaction, a hand that was moving already.
_SHORTEST_S, _SHORTEST_REACTION_S = 5.0, 0.2
#: A learned reaction is never longer, s: a cook who waits for the figure on the display would
#: otherwise be called earlier and wait longer, cook after cook.
_LONGEST_LEARNED_S = 8.0

Found = Iterator[tuple[str | None, float]]


@dataclass(frozen=True, slots=True)
class _Duration:
    """One duration. ``between`` and ``within`` are spreads of the logarithm, so about shares."""

    name: str
    label: str
    find: Callable[[CookFacts], Found]
    between: float
    within: float
    least_s: float
    most_s: float
    why: str


def _heat_up(cook: CookFacts) -> Found:
    yield from _took(cook, "heat_up")


def _box(cook: CookFacts) -> Found:
    """From the last "rested" to the box closed, where it was not kept open for the window."""
    boxed = [s.boxed_t for s in cook.steaks if s.boxed_t is not None]
    rested = [s.rested_t for s in cook.steaks if s.rested_t is not None]
    if boxed and rested and not _boxed_before_window(cook):
        yield None, min(boxed) - max(rested)


def _walk(cook: CookFacts) -> Found:
    """From the box closed to handed in, where nobody had to wait for the window to open."""
    if not _boxed_before_window(cook):
        yield from _took(cook, "walk")


def _reaction(cook: CookFacts) -> Found:
    for steak in cook.steaks:
        if steak.reaction_s is not None and steak.reaction_s >= _SHORTEST_REACTION_S:
            yield steak.steak, steak.reaction_s


def _took(cook: CookFacts, name: str) -> Found:
    for step in cook.steps:
        if step.name == name and step.took_s is not None:
            yield None, step.took_s


def _boxed_before_window(cook: CookFacts) -> bool:
    boxed = [s.boxed_t for s in cook.steaks if s.boxed_t is not None]
    return cook.window_t is not None and bool(boxed) and min(boxed) < cook.window_t[0]


_STEPS = (
    _Duration(
        "heat_up",
        "Heating the grate",
        _heat_up,
        between=0.35,
        within=0.20,
        least_s=120.0,
        most_s=5400.0,
        why="From the coal poured until the grate was over its floor (without a probe there, until "
        "the first steak went on). It moves the plan's times of the morning.",
    ),
    _Duration(
        "box",
        "Boxing",
        _box,
        between=0.40,
        within=0.30,
        least_s=15.0,
        most_s=1200.0,
        why="From the last steak rested until the box was closed; cooks that were ready before the "
        "window opened are left out, since they could take their time. It moves the plan's times.",
    ),
    _Duration(
        "walk",
        "Walk to turn-in",
        _walk,
        between=0.50,
        within=0.40,
        least_s=15.0,
        most_s=3600.0,
        why="From the box closed until handed in; cooks that were ready before the window opened "
        "are left out, since they may have waited. Another site is another walk: walk it once and "
        "set your own. It moves the plan's times.",
    ),
)
_REACTION = _Duration(
    "reaction",
    "Reaction to “pull now”",
    _reaction,
    between=0.60,
    within=0.45,
    least_s=0.0,
    most_s=LONGEST_REACTION_S,
    why="From “pull now” to the steak off. A slower cook is called that much earlier, so that the "
    "steak leaves as the core crosses; never later than by default.",
)


def duration_lessons(
    facts: Sequence[CookFacts], usual: CookHeader, choices: Sequence[Choice]
) -> Iterator[Lesson]:
    """The steps of the plan, then the reaction."""
    for step in _STEPS:
        range_ = takes(step.name, usual.durations)
        default_s = 0.5 * (range_.low_s + range_.high_s)
        yield _lesson(step, default_s, facts, choices, _SHORTEST_S)
    yield _lesson(_REACTION, USUAL_REACTION_S, facts, choices, _SHORTEST_REACTION_S)


def _lesson(
    duration: _Duration,
    default_s: float,
    facts: Sequence[CookFacts],
    choices: Sequence[Choice],
    shortest_s: float,
) -> Lesson:
    seen = [
        (cook, [(steak, s) for steak, s in duration.find(cook) if s >= shortest_s])
        for cook in facts
    ]
    seen = [(cook, found) for cook, found in seen if found]
    logs = [Observed(_mean(math.log(s) for _, s in found)) for _, found in seen]
    usual = Usual(math.log(default_s), duration.between, duration.within)
    found = estimate(logs, usual)
    choice = chosen(duration.name, choices)
    most_s = _LONGEST_LEARNED_S if duration is _REACTION else duration.most_s
    learned_s = min(max(math.exp(found.mean), duration.least_s), most_s) if seen else None
    value_s = in_force(choice, default_s, learned_s)
    return Lesson(
        name=duration.name,
        label=duration.label,
        unit="s",
        mode=choice.mode,
        default=default_s,
        learned=learned_s,
        own=choice.value,
        in_force=value_s,
        cooks=len(seen),
        why=duration.why,
        evidence=tuple(_evidence(seen, found.weights)),
        least=duration.least_s,
        most=duration.most_s,
        range_=_range(duration, choice.mode, value_s, found),
    )


def _range(duration: _Duration, mode: Mode, value_s: float, found: Estimate) -> Range | None:
    """What a duration becomes in the plan: as wide as the next cook may lie from it. An own
    figure is sure but for the spread from cook to cook."""
    if duration is _REACTION or value_s <= 0.0:
        return None
    sd = duration.within if mode is Mode.OWN else found.next_sd
    reach = math.exp(_FLAT * sd)
    return Range(round(value_s / reach, 1), round(value_s * reach, 1))


def _evidence(
    seen: Sequence[tuple[CookFacts, list[tuple[str | None, float]]]], weights: Sequence[float]
) -> Iterator[Evidence]:
    for (cook, found), weight in zip(seen, weights, strict=True):
        for steak, value_s in found:
            yield Evidence(cook.cook, steak, round(value_s, 1), round(weight / len(found), 3))


def _mean(values: Iterator[float]) -> float:
    found = list(values)
    return sum(found) / len(found)


def taught_durations(lessons: Mapping[str, Lesson]) -> Mapping[str, Range]:
    """The durations of the plan that ``lessons`` change, by their names."""
    return {
        step.name: lesson.range_
        for step in _STEPS
        if (lesson := lessons.get(step.name)) is not None
        and lesson.is_changed
        and lesson.range_ is not None
    }

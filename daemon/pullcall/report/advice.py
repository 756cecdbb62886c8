"""What the numbers of a cook suggest for the next one."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from pullcall.hindsight.facts import CookFacts
from pullcall.learning.lesson import Lesson
from pullcall.report.advising import day, grill, pull, record
from pullcall.report.advising.advice import Advice, Case
from pullcall.report.degrees import Degrees

#: Each looks at one thing; of equal weight the earlier comes first.
_RULES: tuple[Callable[[Case], Iterator[Advice]], ...] = (
    day.handed_in,
    pull.pulled,
    pull.aimed,
    day.rested,
    grill.burned,
    grill.patterned,
    grill.apart,
    day.on_time,
    record.answered,
    record.probed,
    record.forecast,
    record.missing,
)


def advise(
    facts: CookFacts,
    earlier: Sequence[CookFacts],
    lessons: Sequence[Lesson] = (),
    *,
    unit: str = "F",
) -> tuple[Advice, ...]:
    """Advice, the weightiest first. ``earlier`` are the cooks before, the latest last.

    Nothing is advised where the figures do not carry it: then it is said what was not recorded.
    Raises ValueError for a unit that is neither F nor C.
    """
    case = Case(facts, earlier, lessons, Degrees(unit))
    found = [advice for rule in _RULES for advice in rule(case)]
    return tuple(sorted(found, key=lambda advice: -advice.weight))

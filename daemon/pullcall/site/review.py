"""What the cooks of a site's logbook show together: reports, comparisons, lessons."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from pullcall.errors import PullcallError, RefusedError, UnknownNameError
from pullcall.events import CookHeader
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.tally import tally
from pullcall.learning.choice import Choice, Mode
from pullcall.learning.learn import TEACHING, learn
from pullcall.learning.lesson import Lesson, words
from pullcall.logbook.table import table_of
from pullcall.logbook.table_files import WRITERS
from pullcall.report.aligned import aligned
from pullcall.report.comparison import Comparison, compare
from pullcall.report.sheet import sheet
from pullcall.site.archive import Archive, read

logger = logging.getLogger(__name__)

#: Earlier cooks that a report is held against.
_EARLIER = 8


@dataclass(frozen=True, slots=True)
class Told:
    """How good the forecast has been, for a reader: what it is about, and the sentence."""

    label: str
    words: str


class Review:
    """``usual`` is what a new cook starts from before anything was learned."""

    def __init__(self, archive: Archive, usual: CookHeader) -> None:
        self._archive = archive
        self._shelf = archive.shelf
        self._usual = usual

    async def report(self, cook: str, unit: str) -> str:
        """The cook on one sheet, HTML."""
        facts = await self._archive.facts(cook)
        earlier = await read(self._earlier, facts)
        await self._archive.work_out(earlier)
        return await read(self._report, facts, earlier, unit)

    async def comparison(self, cooks: Sequence[str], unit: str) -> Comparison:
        """Two to six cooks side by side."""
        facts = await self._facts_of(cooks)
        notes = {cook: await read(self._shelf.notes, cook) for cook in cooks}
        return await read(compare, facts, notes, unit)

    async def chart(self, cooks: Sequence[str], unit: str) -> str:
        """Their cores, aligned at on, SVG."""
        return str(await read(aligned, await self._facts_of(cooks), unit))

    async def table(self, kind: str) -> bytes:
        """The logbook as a file: csv, jsonl, parquet or schema."""
        return await read(self._table, kind)

    async def learned(self, unit: str) -> dict[str, Any]:
        """Every lesson, and how good the forecast has been, as docs/after.md has it."""
        facts = await read(self._all_facts)
        lessons = await read(self._lessons, facts)
        return {
            "lessons": [_lesson_record(lesson, unit) for lesson in lessons],
            "hindsight": [asdict(told) for told in _told(facts, unit)],
            "cooks": len(facts),
        }

    async def choose(self, name: str, mode: Mode, value: float | None) -> None:
        """Choose a lesson's figure, from the next cook on. Raises RefusedError."""
        lessons = await read(self._all_lessons)
        lesson = next((one for one in lessons if one.name == name), None)
        if lesson is None:
            names = ", ".join(one.name for one in lessons)
            raise UnknownNameError(f"There is no lesson {name!r}: there are {names}.")
        _check_own(lesson, value)
        await self._archive.note(lambda store, wall: store.choose(Choice(wall, name, mode, value)))

    def lessons(self) -> tuple[Lesson, ...]:
        """Every lesson for the next cook; none where they cannot be read: a cook begins without.
        Reads files."""
        try:
            return self._all_lessons()
        except PullcallError as exc:
            logger.error("The next cook begins without what earlier ones taught. %s", exc)
            return ()

    async def _facts_of(self, cooks: Sequence[str]) -> list[CookFacts]:
        if len(set(cooks)) != len(cooks):
            raise RefusedError("Choose cooks that differ.")
        return [await self._archive.facts(cook) for cook in cooks]

    def _report(self, facts: CookFacts, before: Sequence[str], unit: str) -> str:
        earlier = self._shelf.facts_of_all(before)
        known = [*earlier, facts]
        notes = self._shelf.notes(facts.cook)
        return sheet(facts, earlier, notes, unit, self._lessons(known), _told(known, unit))

    def _earlier(self, facts: CookFacts) -> list[str]:
        """The cooks of the same kind before one, the latest last."""
        rows = self._shelf.rows()
        place = next((i for i, row in enumerate(rows) if row.cook == facts.cook), 0)
        like = [row.cook for row in rows[:place] if row.simulated == facts.setup.simulated]
        return like[-_EARLIER:]

    def _all_facts(self) -> list[CookFacts]:
        return self._shelf.facts_of_all(self._shelf.over()[-TEACHING:])

    def _all_lessons(self) -> tuple[Lesson, ...]:
        return self._lessons(self._all_facts())

    def _lessons(self, facts: Sequence[CookFacts]) -> tuple[Lesson, ...]:
        return learn(facts, self._usual, self._shelf.choices())

    def _table(self, kind: str) -> bytes:
        known = [(row, self._shelf.facts(row.cook)) for row in self._shelf.rows()]
        return WRITERS[kind](table_of(known))


def _check_own(lesson: Lesson, value: float | None) -> None:
    if value is None:
        return
    if not lesson.can_be_own:
        raise RefusedError(f"{lesson.label} is no single figure: take what was learned, or not.")
    if not lesson.least <= value <= lesson.most:
        raise RefusedError(
            f"{lesson.label} lies between {lesson.least:g} and {lesson.most:g} {lesson.unit}."
        )


def _told(facts: Sequence[CookFacts], unit: str) -> list[Told]:
    return [Told(figure.label, figure.words(unit)) for figure in tally(facts)]


def _lesson_record(lesson: Lesson, unit: str) -> dict[str, Any]:
    told = ("name", "label", "unit", "default", "learned", "own", "in_force", "cooks", "why")
    return {
        **{name: getattr(lesson, name) for name in (*told, "least", "most")},
        "mode": str(lesson.mode),
        "words": words(lesson, unit),
        "evidence": [asdict(one) for one in lesson.evidence],
    }

"""What the cooks of a site's logbook show together: reports, comparisons, lessons."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import Any

from pullcall.errors import PullcallError, RefusedError, UnknownNameError
from pullcall.events import CookHeader
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.tally import told
from pullcall.learning.choice import Mode
from pullcall.learning.learn import TEACHING, learn, untaught
from pullcall.learning.lesson import Lesson, check_own, words
from pullcall.logbook.table import table_of
from pullcall.logbook.table_files import WRITERS
from pullcall.report.aligned import aligned
from pullcall.report.comparison import Comparison, compare
from pullcall.report.sheet import sheet
from pullcall.site.archive import Archive, read

logger = logging.getLogger(__name__)


class Review:
    """``next_cook`` gives what the next cook would start from before it is taught."""

    def __init__(self, archive: Archive, next_cook: Callable[[], CookHeader]) -> None:
        self._archive = archive
        self._shelf = archive.shelf
        self._next_cook = next_cook

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
        header = self._next_cook()
        facts = await read(self._like, header)
        lessons = await read(self._lessons, facts, header)
        return {
            "lessons": [_lesson_record(lesson, unit) for lesson in lessons],
            "hindsight": [asdict(one) for one in told(facts, unit)],
            "cooks": len(facts),
            "working": self._archive.working(),
        }

    async def choose(self, name: str, mode: Mode, value: float | None) -> None:
        """Choose a lesson's figure, from the next cook on. Raises RefusedError, LogError."""
        lessons = await read(self.lessons, self._next_cook())
        lesson = next((one for one in lessons if one.name == name), None)
        if lesson is None:
            names = ", ".join(one.name for one in lessons)
            raise UnknownNameError(f"There is no lesson {name!r}: there are {names}.")
        if value is not None:
            check_own(lesson, value)
        await self._archive.choose(name, mode, value)

    def lessons(self, header: CookHeader) -> tuple[Lesson, ...]:
        """Every lesson for a cook that begins with ``header``; none where they cannot be read: it
        begins without. Reads files."""
        try:
            return self._lessons(self._like(header), header)
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
        lessons = self._lessons(known, untaught(facts.setup))
        return sheet(facts, earlier, notes, unit, lessons, told(known, unit))

    def _earlier(self, facts: CookFacts) -> list[str]:
        return self._shelf.earlier(facts.cook, simulated=facts.setup.simulated)

    def _like(self, header: CookHeader) -> list[CookFacts]:
        """The latest cooks of the same kind, real or simulated: they teach. What an earlier edition
        of the core found of them will do: it is worked out anew, but a cook may begin before."""
        ids = self._shelf.over(simulated=header.simulated)[-TEACHING:]
        return self._shelf.facts_of_all(ids, any_edition=True)

    def _lessons(self, facts: Sequence[CookFacts], header: CookHeader) -> tuple[Lesson, ...]:
        return learn(facts, header, self._shelf.choices())

    def _table(self, kind: str) -> bytes:
        known = [(row, self._shelf.facts(row.cook)) for row in self._shelf.rows()]
        return WRITERS[kind](table_of(known))


def _lesson_record(lesson: Lesson, unit: str) -> dict[str, Any]:
    told = ("name", "label", "unit", "default", "learned", "own", "in_force", "cooks", "why")
    return {
        **{name: getattr(lesson, name) for name in (*told, "least", "most")},
        "mode": str(lesson.mode),
        "words": words(lesson, unit),
        "evidence": [asdict(one) for one in lesson.evidence],
    }

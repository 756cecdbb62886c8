"""The logbook of a running site: every cook that was, what is written of it, in and out.

Questions are read beside the log in a thread; what is written goes through the site's one pen;
what has to be worked out is, in a process of its own.
"""

from __future__ import annotations

import asyncio
import json
import logging
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol, TypeVar

from pullcall.core.cook import Cook
from pullcall.core.phase import Phase
from pullcall.errors import LogError, RefusedError, UnknownNameError
from pullcall.events import Note, NoteValue
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.kept import facts_json
from pullcall.learning.choice import Choice, Mode
from pullcall.log.backup import back_up
from pullcall.log.backup_file import Backup, Restored
from pullcall.log.cook_file import BrokenLine, CookFile
from pullcall.log.store import Store
from pullcall.logbook.entry import Row
from pullcall.logbook.notes import check_note, standing
from pullcall.logbook.search import found
from pullcall.plan.wall import wall_time
from pullcall.site.bookshelf import Bookshelf, Running
from pullcall.site.scratch import Scratch
from pullcall.site.workshop import Workshop

logger = logging.getLogger(__name__)
T = TypeVar("T")
_COOKING = (Phase.ON, Phase.RESTING, Phase.BOXED)
#: About a minute of two probes: a steak that rests still climbs.
_RESTING_READINGS = 240
#: Whoever asks for what has to be worked out first waits so long, seconds.
_PATIENCE_S = 60.0
#: Lines of a file that are named where they were left out.
_MOST_NAMED = 200


class Pen(Protocol):
    """What writes the log, one thing after the other."""

    async def run(self, work: Callable[[], T]) -> T:
        """The result of work with the store."""


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """What a file brought; ``broken`` names the lines that were left out, the first 200."""

    cook: str
    records: int
    broken: tuple[str, ...]


class Archive:
    """``running`` gives the cook that runs, if one does; ``config`` is the text of the
    configuration, which goes into a backup without its secrets. Unknown cooks raise
    UnknownNameError."""

    def __init__(
        self,
        store: Store,
        pen: Pen,
        wall: Callable[[], datetime],
        running: Callable[[], Cook | None],
        config: str | None = None,
    ) -> None:
        self.log = store.path
        self.scratch = Scratch(store.path)
        self.scratch.clear()
        self.shelf = Bookshelf(store.path, self._as_running)
        self._store = store
        self._pen = pen
        self._wall = wall
        self._running = running
        self._config = config
        self._workshop = Workshop(store.path, self.shelf.forget)

    async def run(self) -> None:
        """Work out every cook that was not yet, and those that will end, until cancelled."""
        try:
            await self._ask_for_missing()
        except LogError as exc:
            logger.warning("The cooks that were are not worked out for now. %s", exc)
        await self._workshop.run()

    def over(self, cook: str) -> None:
        """A cook is over: have it worked out."""
        self._workshop.ask(cook)

    def working(self) -> int:
        """How many cooks wait to be worked out."""
        return self._workshop.count

    async def rows(self, text: str) -> list[Row]:
        """The cooks in which all words of ``text`` are found, the latest last."""
        rows = await read(self.shelf.rows)
        return [row for row in rows if found(row, text)]

    async def cook(self, cook: str) -> dict[str, Any]:
        """One cook, as docs/after.md has it."""
        row = await self._row(cook)
        facts = await read(self.shelf.facts, cook)
        if facts is None and row.over and self._workshop.trouble(cook) is None:
            self._workshop.ask(cook)
        notes = standing(await read(self.shelf.notes, cook))
        return {
            "row": asdict(row),
            "notes": [{"steak": n.steak, "name": n.name, "value": n.value} for n in notes],
            "facts": None if facts is None else json.loads(facts_json(facts)),
            "working": self._workshop.is_working(cook),
            "trouble": self._workshop.trouble(cook),
        }

    async def note(self, cook: str, notes: Sequence[tuple[str | None, str, NoteValue]]) -> None:
        """Write notes about a cook: all, or none. Raises RefusedError for what makes no sense,
        LogError where the disk does not take them."""
        steaks = [steak.steak for steak in (await self._row(cook)).steaks]
        wall = self._second()
        checked = [check_note(Note(wall, *note), steaks) for note in notes]
        await self._pen.run(lambda: self._store.note(cook, checked))
        self.shelf.forget(cook)

    async def choose(self, lesson: str, mode: Mode, value: float | None) -> None:
        """Keep what was chosen for a lesson (see :class:`Choice`). Raises LogError where the disk
        does not take it."""
        choice = Choice(self._second(), lesson, mode, value)
        await self._pen.run(lambda: self._store.choose(choice))

    async def delete(self, cook: str) -> None:
        """Delete a cook for good. Raises RefusedError while it runs, or while meat is on.

        LogError where something of it stays: it says what to do, and is asked again.
        """
        if not self._store.has_traces():  # else it may be gone already, but for those
            await self._row(cook)
        if self._is_running(cook):
            raise RefusedError("This cook is running: start a new one first, then delete it.")
        self._require_calm("Delete")
        await self._pen.run(lambda: self._store.delete(cook, is_over=True))
        await self._workshop.drop(cook)
        try:
            await read(self.shelf.throw_away, cook)
        finally:
            await self._pen.run(self._store.wipe)

    async def recording(self, cook: str) -> bytes:
        """The file that a page replays, gzip. Raises what :meth:`worked_out` does."""
        return await self.worked_out(cook, self.shelf.recording)

    async def facts(self, cook: str) -> CookFacts:
        """What is known of a cook that is over. Raises what :meth:`worked_out` does."""
        return await self.worked_out(cook, self.shelf.facts)

    async def worked_out(self, cook: str, find: Callable[[str], T | None]) -> T:
        """What was worked out of a cook, or is now. Raises UnknownNameError for a cook that is not
        there, RefusedError while something is on, LogError where that takes longer than a minute
        or cannot be done."""
        if not (await self._row(cook)).over:
            raise RefusedError("This cook is not over: ask once nothing is on the grate.")
        made = await read(find, cook)
        if made is None:
            await asyncio.wait([self._workshop.ask(cook)], timeout=_PATIENCE_S)
            made = await read(find, cook)
        if made is None:
            raise LogError(_why(self._workshop.trouble(cook)))
        return made

    async def work_out(self, cooks: Sequence[str]) -> None:
        """Have cooks worked out that were not yet; those that cannot be within a minute stay so."""
        if missing := await read(self.shelf.missing, cooks):
            await asyncio.wait([self._workshop.ask(cook) for cook in missing], timeout=_PATIENCE_S)

    def size(self) -> int:
        """How large the log is on the disk, and a backup at most, bytes."""
        files = (self.log, self.log.with_name(f"{self.log.name}-wal"))
        return sum(file.stat().st_size for file in files if file.exists())

    async def backup(self) -> tuple[Path, str]:
        """A backup in a file of its own, which the caller removes, and a name for it."""
        path = await read(self.scratch.make) / "backup"
        try:
            await read(back_up, self.log, path, self._config)
        except BaseException:
            self.scratch.remove(path.parent)
            raise
        return path, f"pullcall-{self._wall():%Y%m%d-%H%M}.backup"

    async def restore(self, path: Path) -> Restored:
        """Bring in every cook of a backup that is not here. Raises LogError, RefusedError."""
        self._require_calm("Restore")
        # Checked whole before the pen is asked for: that takes as long as the file is large.
        with await read(Backup, path, "The file sent") as backup:
            self._require_calm("Restore")
            restored = await self._pen.run(lambda: self._store.take_in(backup))
        await self._ask_for_missing()
        return restored

    async def bring_in(self, make: Callable[[], CookFile]) -> BroughtIn:
        """Bring in the cook that ``make`` reads from a file. Raises LogError, RefusedError."""
        self._require_calm("Import")
        cook = await read(make)
        ended = wall_time(cook.header, cook.ends_t)
        await self._pen.run(lambda: self._store.bring_in(cook, ended))
        self._workshop.ask(cook.header.cook)
        return BroughtIn(cook.header.cook, len(cook.records), named(cook.broken))

    async def _ask_for_missing(self) -> None:
        await read(self.shelf.check)
        for cook in await read(lambda: self.shelf.missing(self.shelf.over())):
            self._workshop.ask(cook)

    def _second(self) -> str:
        """The time of day as it is logged beside what people write."""
        return self._wall().isoformat(timespec="seconds")

    async def _row(self, cook: str) -> Row:
        try:
            return await read(self.shelf.row, cook)
        except LogError as exc:
            raise UnknownNameError(str(exc)) from exc

    def _is_running(self, cook: str) -> bool:
        running = self._running()
        return running is not None and running.setup.cook == cook

    def _as_running(self) -> Running | None:
        cook = self._running()
        if cook is None:
            return None
        phases = {steak.phase for steak in cook.steaks.values()}
        is_over = Phase.ON not in phases and phases != {Phase.WAITING}
        readings = sys.maxsize if phases == {Phase.HANDED_IN} else _RESTING_READINGS
        return Running(cook.setup.cook, is_over, readings)

    def _require_calm(self, what: str) -> None:
        """Long work with the log waits for the hand-in: the pen is needed for the cook."""
        cook = self._running()
        if cook and any(steak.phase in _COOKING for steak in cook.steaks.values()):
            raise RefusedError(f"{what} once all is handed in, or start a new cook first.")


def _why(trouble: str | None) -> str:
    if trouble is None:
        return "This cook is still being worked out: ask again in a minute."
    return f"This cook could not be worked out: {trouble}."


async def read(work: Callable[..., T], *given: Any) -> T:
    """The result of work that reads files, out of the loop's way."""
    return await asyncio.to_thread(work, *given)


def named(broken: Sequence[BrokenLine]) -> tuple[str, ...]:
    """The lines that were left out, as people read them; a file of nothing else has millions."""
    more = len(broken) - _MOST_NAMED
    rest = (f"and {more} more lines",) if more > 0 else ()
    return (*map(str, broken[:_MOST_NAMED]), *rest)

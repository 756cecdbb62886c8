"""The log together with what waits to be written into it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pullcall.errors import LogError
from pullcall.log.cook_entry import CookEntry
from pullcall.log.cook_file import CookFile, parse_cook_lines
from pullcall.log.entries import Begun, Ended, Entry, Moved, Spilled
from pullcall.log.header import header_record
from pullcall.log.records import to_line
from pullcall.log.spill_lines import as_spilled
from pullcall.log.store import Store


class LogWithWaiting:
    """Reads as if ``waiting`` had been written."""

    def __init__(self, store: Store, waiting: Sequence[Entry]) -> None:
        self._store = store
        self._waiting = [(entry.cook, as_spilled(entry.what)) for entry in waiting]

    def cooks(self) -> tuple[CookEntry, ...]:
        """Every cook, the latest last."""
        found = {entry.id: entry for entry in self._store.cooks()}
        for cook, what in self._waiting:
            if isinstance(what, Begun) and cook not in found:
                found[cook] = CookEntry(what.header, what.boot, what.zero_monotonic, None)
            elif isinstance(what, Ended) and cook in found:
                found[cook] = replace(found[cook], ended=what.when)
            elif isinstance(what, Moved) and cook in found:
                moved = {"boot": what.boot, "zero_monotonic": what.zero_monotonic}
                found[cook] = replace(found[cook], **moved)  # type: ignore[arg-type]
        return tuple(found.values())

    def cook(self, cook: str) -> CookFile:
        """One cook with its inputs. Raises LogError for an id that is not there."""
        return parse_cook_lines([*self._logged(cook), *self._bodies(cook, is_call=False)])

    def call_lines(self, cook: str) -> list[str]:
        """Every announcement of one cook, in order, as JSON."""
        return [*self._store.call_lines(cook), *self._bodies(cook, is_call=True)]

    def _logged(self, cook: str) -> list[str]:
        begun = [what for id, what in self._waiting if id == cook and isinstance(what, Begun)]
        try:
            return self._store.lines(cook)
        except LogError:
            if not begun:
                raise
            return [to_line(header_record(begun[0].header))]

    def _bodies(self, cook: str, *, is_call: bool) -> list[str]:
        bodies = (what for id, what in self._waiting if id == cook and isinstance(what, Spilled))
        return [what.body for what in bodies if what.is_call is is_call]

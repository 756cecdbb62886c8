"""What is known of the logged cooks, read beside whoever writes the log; it never writes there."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from pullcall.events import Note
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.shelf import Kind, Shelf
from pullcall.learning.choice import Choice
from pullcall.log.store import CookEntry, Store
from pullcall.logbook.entry import Row, row


class Bookshelf:
    """Everything here reads files: not for the loop. Raises LogError for a cook that is not there.

    Rows are remembered until :meth:`forget`; a cook that is over changes by its notes alone.
    """

    def __init__(self, log: Path) -> None:
        self._log = log
        self._shelf = Shelf(log)
        self._rows: dict[str, Row] = {}

    def rows(self, running: str) -> list[Row]:
        """Every cook as a row, the latest last; what is not worked out says less."""
        with self._open() as store:
            return [self._row(entry, store, running) for entry in store.cooks()]

    def row(self, cook: str, running: str) -> Row:
        """One cook as a row."""
        with self._open() as store:
            return self._row(store.entry(cook), store, running)

    def forget(self, cook: str) -> None:
        """Read a cook anew when it is asked for again."""
        self._rows.pop(cook, None)

    def throw_away(self, cook: str) -> None:
        """Leave nothing that was worked out of a cook."""
        self.forget(cook)
        self._shelf.forget(cook)

    def notes(self, cook: str) -> tuple[Note, ...]:
        """What was written of a cook, oldest first."""
        with self._open() as store:
            return store.notes(cook)

    def facts(self, cook: str) -> CookFacts | None:
        """What was worked out of a cook; None while that was not done."""
        with self._open() as store:
            return self._facts(cook, store)

    def facts_of_all(self, cooks: Iterable[str]) -> list[CookFacts]:
        """Of those that were worked out, in the order given."""
        with self._open() as store:
            found = [self._facts(cook, store) for cook in cooks]
        return [facts for facts in found if facts is not None]

    def recording(self, cook: str) -> bytes | None:
        """The file a page replays; None while it was not made."""
        with self._open() as store:
            return self._shelf.find(cook, store.lines(cook), Kind.RECORDING)

    def ended(self) -> list[str]:
        """The cooks that are over, the latest last."""
        with self._open() as store:
            return [entry.id for entry in store.cooks() if entry.ended is not None]

    def choices(self) -> tuple[Choice, ...]:
        """What was chosen for lessons."""
        with self._open() as store:
            return store.choices()

    def _open(self) -> Store:
        return Store(self._log, reads_only=True)

    def _row(self, entry: CookEntry, store: Store, running: str) -> Row:
        is_running = entry.id == running
        if entry.id in self._rows and not is_running:
            return self._rows[entry.id]
        facts = None if is_running else self._facts(entry.id, store)
        made = row(entry, store.notes(entry.id), facts, is_running=is_running)
        if facts is not None:
            self._rows[entry.id] = made
        return made

    def _facts(self, cook: str, store: Store) -> CookFacts | None:
        return self._shelf.find_facts(cook, store.lines(cook))

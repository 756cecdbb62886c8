"""What is known of the logged cooks, read beside whoever writes the log; it never writes there."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from pullcall.events import Note
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.shelf import Kind, Shelf
from pullcall.learning.choice import Choice
from pullcall.log.cook_entry import CookEntry
from pullcall.log.stand import Stand
from pullcall.log.store import Store
from pullcall.logbook.earlier import earlier
from pullcall.logbook.entry import Row, row

#: Facts of so many cooks are kept at hand.
_REMEMBERED = 48


@dataclass(frozen=True, slots=True)
class Running:
    """The cook that runs; ``is_over`` once something was cooked and nothing is on any more.

    What was worked out of it will do until ``readings`` more have come.
    """

    cook: str
    is_over: bool
    readings: int


class Bookshelf:
    """Everything here reads files: not for the loop. Raises LogError for a cook that is not there.

    Of the running cook what was worked out so far is known. Rows are remembered until
    :meth:`forget`; a cook that has ended changes by its notes alone.
    """

    def __init__(self, log: Path, running: Callable[[], Running | None]) -> None:
        self._log = log
        self._running = running
        self._shelf = Shelf(log)
        self._rows: dict[str, Row] = {}
        self._facts_known: dict[str, tuple[Stand, CookFacts]] = {}

    def rows(self) -> list[Row]:
        """Every cook as a row, the latest last; what is not worked out says less."""
        with self._open() as store:
            return [self._row(entry, store) for entry in store.cooks()]

    def row(self, cook: str) -> Row:
        """One cook as a row."""
        with self._open() as store:
            return self._row(store.entry(cook), store)

    def forget(self, cook: str) -> None:
        """Read a cook anew when it is asked for again."""
        self._rows.pop(cook, None)
        self._facts_known.pop(cook, None)

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

    def facts_of_all(self, cooks: Iterable[str], *, any_edition: bool = False) -> list[CookFacts]:
        """Of those that were worked out (by whatever edition of the core), in the order given."""
        with self._open() as store:
            found = [self._facts(cook, store, any_edition) for cook in cooks]
        return [facts for facts in found if facts is not None]

    def earlier(self, cook: str, *, simulated: bool) -> list[str]:
        """The cooks that one is held against, the latest last."""
        with self._open() as store:
            return earlier(store.cooks(), cook, simulated=simulated)

    def check(self) -> None:
        """Raise LogError where nothing that is worked out could be kept."""
        self._shelf.check()

    def recording(self, cook: str) -> bytes | None:
        """The file a page replays; None while it was not made."""
        with self._open() as store:
            return self._find(cook, store, Kind.RECORDING)

    def over(self, *, simulated: bool | None = None) -> list[str]:
        """The cooks that are over, of one kind or (None) of both, the latest last; the running one
        among them once it is."""
        running = self._running()
        last = running.cook if running and running.is_over else None
        with self._open() as store:
            over = [e for e in store.cooks() if e.ended is not None or e.id == last]
        return [e.id for e in over if simulated in (None, e.header.simulated)]

    def missing(self, cooks: Iterable[str]) -> list[str]:
        """Those that were not worked out."""
        with self._open() as store:
            return [cook for cook in cooks if self._find(cook, store, Kind.FACTS) is None]

    def choices(self) -> tuple[Choice, ...]:
        """What was chosen for lessons."""
        with self._open() as store:
            return store.choices()

    def _open(self) -> Store:
        return Store(self._log, reads_only=True)

    def _since(self, cook: str) -> int:
        running = self._running()
        return running.readings if running and cook == running.cook else 0

    def _row(self, entry: CookEntry, store: Store) -> Row:
        if entry.id in self._rows:
            return self._rows[entry.id]
        running = self._running()
        is_running = running is not None and entry.id == running.cook
        facts = self._facts(entry.id, store)
        made = row(
            entry,
            store.notes(entry.id),
            facts,
            is_running=is_running,
            is_over=running.is_over if running and is_running else True,
        )
        if facts is not None and not is_running:
            self._rows[entry.id] = made
        return made

    def _facts(self, cook: str, store: Store, any_edition: bool = False) -> CookFacts | None:
        """Facts are remembered as the cook stood: reading them takes longer than looking."""
        stand, since = store.stand(cook), self._since(cook)
        known = self._facts_known.get(cook)
        if known is not None and known[0] == stand:
            return known[1]
        facts = self._shelf.find_facts(cook, stand, since=since)
        if facts is None:
            return self._still_good(cook, stand, any_edition)
        self._facts_known.pop(cook, None)
        self._facts_known[cook] = stand, facts
        if len(self._facts_known) > _REMEMBERED:
            del self._facts_known[next(iter(self._facts_known))]
        return facts

    def _still_good(self, cook: str, stand: Stand, any_edition: bool) -> CookFacts | None:
        """Facts of another edition where those will do, and those made before a cook that was
        handed in went on: nothing of it has changed."""
        if any_edition:
            since = self._since(cook)
            facts = self._shelf.find_facts(cook, stand, since=since, any_edition=True)
            if facts is not None:
                return facts
        facts = self._shelf.find_facts(cook, stand, since=sys.maxsize, any_edition=any_edition)
        if facts is None or any(steak.handed_in_t is None for steak in facts.steaks):
            return None
        return facts

    def _find(self, cook: str, store: Store, kind: Kind) -> bytes | None:
        return self._shelf.find(cook, store.stand(cook), kind, since=self._since(cook))

"""What a log says of its cooks."""

from __future__ import annotations

import logging
import sqlite3
from pathlib import Path

from pullcall.errors import LogError
from pullcall.events import Mark, Note, Spot, Undo
from pullcall.learning.choice import Choice
from pullcall.log.cook_entry import CookEntry, cook_entry
from pullcall.log.cook_file import CookFile, parse_cook_lines
from pullcall.log.database import SCHEMA, pragma, translated
from pullcall.log.foreign_rows import Row, read_choice
from pullcall.log.stand import Stand
from pullcall.log.starts import in_order

logger = logging.getLogger(__name__)

#: Records of what a person did to the cook, and what was left out of it; what else comes changes
#: nothing of one handed in.
_DONE = ("mark", "spot", "setting", "undo", "omission")
_TAPPED = ("mark", "spot", "undo")


class Logged:
    """Reads through the connection of whoever opened the log (``Store``); writes nothing.

    Every method raises LogError where the log cannot be read.
    """

    path: Path
    _db: sqlite3.Connection

    def cooks(self) -> tuple[CookEntry, ...]:
        """Every logged cook, the latest last."""
        with translated(self.path):
            rows = self._db.execute(
                "SELECT started, id, header, boot, zero_monotonic, ended FROM cooks ORDER BY rowid"
            ).fetchall()
        found = [(row[0], entry) for row in rows if (entry := cook_entry(*row[1:])) is not None]
        return tuple(in_order(found))

    def entry(self, cook: str) -> CookEntry:
        """One logged cook as the list has it. Raises LogError for an id the log does not have."""
        entry = next((entry for entry in self.cooks() if entry.id == cook), None)
        if entry is None:
            raise _missing(cook)
        return entry

    def stand(self, cook: str) -> Stand:
        """How far one cook has come; quick however long it is. Raises LogError as :meth:`entry`."""
        timed = "FROM records WHERE cook = ? AND t IS NOT NULL"
        with translated(self.path):
            header, _ = self._require(cook)
            (count,) = self._db.execute(f"SELECT count(*) {timed}", (cook,)).fetchone()
            done = " OR ".join(["body LIKE ?"] * len(_DONE))
            (since,) = self._db.execute(
                f"SELECT count(*) {timed} AND seq > coalesce("
                f"(SELECT max(seq) {timed} AND ({done})), 0)",
                (cook, cook, *(f'{{"record":"{kind}"%' for kind in _DONE)),
            ).fetchone()
        return Stand(header, count, since)

    def notes(self, cook: str) -> tuple[Note, ...]:
        """What was written of one cook, oldest first. Raises LogError as :meth:`entry`."""
        with translated(self.path):
            header, _ = self._require(cook)
            rows = self._db.execute(
                "SELECT body FROM records WHERE cook = ? AND t IS NULL ORDER BY seq", (cook,)
            )
            return parse_cook_lines([header, *(body for (body,) in rows)]).notes

    def cook(self, cook: str) -> CookFile:
        """One logged cook with its inputs. Raises LogError for an id the log does not have."""
        return parse_cook_lines(self.lines(cook))

    def done(self, cook: str) -> tuple[Mark | Spot, ...]:
        """The marks and spots of one cook that nobody undid, as they were entered; quick however
        long it is. Raises LogError as :meth:`entry`."""
        with translated(self.path):
            header, _ = self._require(cook)
            kinds = " OR ".join(["body LIKE ?"] * len(_TAPPED))
            rows = self._db.execute(
                f"SELECT body FROM records WHERE cook = ? AND ({kinds}) ORDER BY seq",
                (cook, *(f'{{"record":"{kind}"%' for kind in _TAPPED)),
            )
            inputs = parse_cook_lines([header, *(body for (body,) in rows)]).inputs
        undone = {one.id for one in inputs if isinstance(one, Undo)}
        return tuple(one for one in inputs if isinstance(one, Mark | Spot) and one.id not in undone)

    def lines(self, cook: str) -> list[str]:
        """The lines of one cook's file, header first, exactly as logged."""
        with translated(self.path):
            header, _ = self._require(cook)
            rows = self._db.execute("SELECT body FROM records WHERE cook = ? ORDER BY seq", (cook,))
            return [header, *(body for (body,) in rows)]

    def records_after(self, cook: str, number: int, most: int) -> list[tuple[int, str]]:
        """Up to ``most`` lines of a cook's file after line ``number``, each with its own number.

        The header is 0; the others have those of the log, which grow, with gaps. Empty for an id
        that is not there.
        """
        with translated(self.path):
            header = "SELECT 0, header FROM cooks WHERE id = ? AND ? < 0"
            lines = "SELECT seq, body FROM records WHERE cook = ? AND seq > ? ORDER BY seq LIMIT ?"
            found = self._db.execute(header, (cook, number)).fetchall()
            return found + self._db.execute(lines, (cook, number, most - len(found))).fetchall()

    def count_after(self, cook: str, number: int) -> int:
        """How many lines :meth:`records_after` would still give, all in all."""
        with translated(self.path):
            count = (
                "SELECT (SELECT count(*) FROM records WHERE cook = ?1 AND seq > ?2)"
                " + (SELECT count(*) FROM cooks WHERE id = ?1 AND ?2 < 0)"
            )
            return int(self._db.execute(count, (cook, number)).fetchone()[0])

    def call_lines(self, cook: str) -> list[str]:
        """Every announcement logged for one cook, in order, as JSON."""
        with translated(self.path):
            rows = self._db.execute("SELECT body FROM calls WHERE cook = ? ORDER BY seq", (cook,))
            return [body for (body,) in rows]

    def lines_since(self, cook: str, t: float) -> list[str]:
        """Every record of one cook from ``t`` seconds on, in order, as JSON."""
        asked = "SELECT body FROM records WHERE cook = ? AND t >= ? ORDER BY seq"
        with translated(self.path):
            return [body for (body,) in self._db.execute(asked, (cook, t))]

    def choices(self) -> tuple[Choice, ...]:
        """What stands for each lesson that something was ever chosen for, by name."""
        with translated(self.path):
            if pragma(self._db, "user_version") < SCHEMA:  # read only, so not upgraded
                return ()
            rows = self._db.execute(
                "SELECT wall, name, mode, value FROM choices ORDER BY seq"
            ).fetchall()
        latest = {choice.name: choice for row in rows if (choice := _choice(row)) is not None}
        return tuple(latest[name] for name in sorted(latest))

    def _require(self, cook: str) -> tuple[str, str | None]:
        """A cook's header line and when it ended. Raises LogError for an id that is not there."""
        row = self._db.execute("SELECT header, ended FROM cooks WHERE id = ?", (cook,)).fetchone()
        if row is None:
            raise _missing(cook)
        return row[0], row[1]

    def _has(self, cook: str) -> bool:
        row = self._db.execute("SELECT 1 FROM cooks WHERE id = ?", (cook,)).fetchone()
        return row is not None


def _missing(cook: str) -> LogError:
    return LogError(f"The log has no cook {cook!r}: `pullcall logbook` lists them.")


def _choice(row: Row) -> Choice | None:
    """What was chosen; a row that cannot be read is named and passed over."""
    try:
        return read_choice(row)
    except ValueError as exc:
        logger.error("A choice in the log is passed over: %s.", exc)
        return None

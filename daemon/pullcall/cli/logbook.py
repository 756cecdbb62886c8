"""``pullcall logbook``: the logged cooks, a line each, or all of them as a table."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

from pullcall.cli.common import add_config, open_log
from pullcall.cli.table import table
from pullcall.errors import LogError, UnworkableError
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.shelf import Shelf
from pullcall.hindsight.work import facts_of
from pullcall.log.cook_entry import CookEntry
from pullcall.log.over import is_over
from pullcall.log.store import Store
from pullcall.logbook.entry import Row, SteakRow, row
from pullcall.logbook.search import found
from pullcall.logbook.table import Known, table_of
from pullcall.logbook.table_files import WRITERS
from pullcall.printable import printable
from pullcall.report.degrees import Degrees
from pullcall.settings import load_settings

#: Facts of a cook with these lines, or None where there are none yet.
FactsOf = Callable[[CookEntry, Store], CookFacts | None]


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("logbook", help="list the logged cooks, or write them as a table")
    parser.add_argument("words", nargs="*", metavar="WORDS", help="only cooks with all of these")
    for kind in WRITERS:
        what = "the tables' schema" if kind == "schema" else f"a table as {kind}"
        parser.add_argument(f"--{kind}", metavar="FILE", help=f"write {what} (-: stdout)")
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the list, the latest last, or write the tables asked for."""
    asked = {kind: getattr(args, kind) for kind in WRITERS if getattr(args, kind)}
    with open_log(args) as store:
        facts = _worked_out(store.path) if asked else _on_the_shelf(store.path)
        known = [one for one in _known(store, facts) if found(one[0], " ".join(args.words))]
    for kind, name in asked.items():
        _write(WRITERS[kind](table_of(known)), name)
    if not asked and known:
        degrees = Degrees(load_settings(args.config).page.unit)
        print("\n".join(table(_line(cook, degrees) for cook, _ in known)))
    return 0


def _on_the_shelf(log: Path) -> FactsOf:
    """Only what was worked out before: a list is no occasion to wait."""
    shelf = Shelf(log)
    return lambda entry, store: shelf.find_facts(entry.id, store.stand(entry.id))


def _worked_out(log: Path) -> FactsOf:
    """Worked out now where need be, but for what is not over."""

    def facts(entry: CookEntry, store: Store) -> CookFacts | None:
        try:
            return facts_of(log, entry.id) if is_over(store, entry) else None
        except UnworkableError as exc:
            print(printable(str(exc)), file=sys.stderr)
            return None

    return facts


def _known(store: Store, facts_of_cook: FactsOf) -> Iterator[Known]:
    for entry in store.cooks():
        facts = facts_of_cook(entry, store)
        yield row(entry, store.notes(entry.id), facts), facts


def _line(cook: Row, degrees: Degrees) -> tuple[str, ...]:
    place = ", ".join(text for text in (cook.place, cook.contest) if text)
    steaks = "; ".join(_steak(steak, degrees) for steak in cook.steaks)
    return cook.cook, _when(cook.started, cook.ended), place, steaks, _hand_in(cook)


def _steak(steak: SteakRow, degrees: Degrees) -> str:
    text = f"{steak.steak}: pull {degrees.at(steak.pull_c)}"
    return text if steak.peak_c is None else f"{text}, peak {degrees.at(steak.peak_c)}"


def _hand_in(cook: Row) -> str:
    if cook.hand_in_wall is None:
        return ""
    when = f"handed in {datetime.fromisoformat(cook.hand_in_wall).astimezone():%H:%M}"
    return when if cook.in_window is not False else f"{when}, outside the window"


def _when(started: str, ended: str | None) -> str:
    """Start in local time and how long it took; odd texts as they are."""
    try:
        begin = datetime.fromisoformat(started).astimezone()
        if ended is None:
            return f"{begin:%Y-%m-%d %H:%M}, not ended"
        minutes = (datetime.fromisoformat(ended).astimezone() - begin).total_seconds() / 60.0
        return f"{begin:%Y-%m-%d %H:%M}, {minutes:.0f} min"
    except (ValueError, OverflowError):
        return started


def _write(data: bytes, name: str) -> None:
    if name == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        return
    try:
        Path(name).write_bytes(data)
    except OSError as exc:
        raise LogError(f"Cannot write {name} ({exc.strerror}): choose another.") from exc

"""Cooks that commands name, as facts with what was written about them."""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from pathlib import Path

from pullcall.cli.common import log_path, logged_id, open_log
from pullcall.errors import LogError
from pullcall.events import Note
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.work import facts_of, facts_of_file
from pullcall.learning.choice import Choice
from pullcall.log.cook_file import read_cook_file
from pullcall.logbook.earlier import earlier
from pullcall.printable import printable
from pullcall.report.moments import moments
from pullcall.settings import load_settings


@dataclass(frozen=True, slots=True)
class Known:
    """A cook that is over, and its notes, oldest first."""

    facts: CookFacts
    notes: tuple[Note, ...]


def known(args: argparse.Namespace, word: str) -> Known:
    """The cook that COOK means: a file, an id of the log, or ``last``. Raises LogError."""
    path = Path(word)
    if path.is_file():
        return Known(facts_of_file(path), read_cook_file(path).notes)
    if "/" in word or word.endswith(".jsonl"):
        raise LogError(f"There is no cook file {word}: check the path.")
    with open_log(args) as store:
        cook = logged_id(store, word)
        notes = store.cook(cook).notes
    return Known(facts_of(log_path(args), cook), notes)


def before(args: argparse.Namespace, facts: CookFacts) -> list[CookFacts]:
    """The cooks of the log that ended before this one began, of its kind (real or simulated),
    the latest last; none where there is no log. One that cannot be worked out is named."""
    log = log_path(args)
    if not log.exists():
        return []
    with open_log(args) as store:
        ids = earlier(store.cooks(), facts.cook, simulated=facts.setup.simulated)
    found = list[CookFacts]()
    for cook in ids:
        try:
            found.append(facts_of(log, cook))
        except LogError as exc:
            print(printable(f"{cook} is left out: {exc}"), file=sys.stderr)
    return found


def choices(args: argparse.Namespace) -> tuple[Choice, ...]:
    """What was chosen for lessons; nothing where there is no log."""
    if not log_path(args).exists():
        return ()
    with open_log(args) as store:
        return store.choices()


def add_unit(parser: argparse.ArgumentParser) -> None:
    """``--unit``."""
    parser.add_argument("--unit", choices=("F", "C"), help="temperatures in F or C")


def unit_of(args: argparse.Namespace) -> str:
    """The unit asked for, or the page's."""
    return args.unit or load_settings(args.config).page.unit


def write(target: Path, content: bytes) -> None:
    """Write a file; ``-`` is standard output. Raises LogError with what to do."""
    if str(target) == "-":
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    try:
        target.write_bytes(content)
    except OSError as exc:
        raise LogError(f"Cannot write {target} ({exc.strerror}): choose another path.") from exc


def which(cook: CookFacts) -> str:
    """Which cook it is, for a line beside a file."""
    began = moments(cook.started, None).began()
    return f"the cook of {began}" if began else f"the cook {cook.cook}"

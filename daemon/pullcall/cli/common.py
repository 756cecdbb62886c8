"""Arguments that several commands share."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from pullcall.access.terms import DELAYS_S
from pullcall.errors import LogError
from pullcall.learning.in_force import in_force
from pullcall.log.aside import check_named
from pullcall.log.cook_entry import CookEntry
from pullcall.log.cook_file import CookFile, read_cook_file
from pullcall.log.ids import LAST
from pullcall.log.over import last_over
from pullcall.log.spill import waiting_words
from pullcall.log.store import Store
from pullcall.plan.durations import parse_duration
from pullcall.plan.wall import window_times
from pullcall.printable import printable
from pullcall.report.moments import moments
from pullcall.settings import load_settings

if TYPE_CHECKING:
    from pullcall.site.live import Site

#: Choices of how late a watcher is shown a cook, minutes.
DELAYS_MIN = tuple(round(delay_s / 60.0) for delay_s in DELAYS_S)

_DAY_S = 86400.0
_NO_COOK = "The logbook is empty: there is no last cook yet."
_NO_LAST = (
    "There is no last cook yet, for none is over: take every steak off first, or "
    "name one by its id (`pullcall logbook`)."
)


def port(text: str) -> int:
    """A port number for argparse."""
    number = int(text)
    if not 1 <= number <= 65535:
        raise argparse.ArgumentTypeError("a port lies between 1 and 65535")
    return number


def speed(text: str) -> float:
    """Times life's speed, for argparse."""
    number = float(text)
    if not 0.1 <= number <= 1000.0:
        raise argparse.ArgumentTypeError("the speed must lie between 0.1 and 1000")
    return number


def window(text: str) -> str:
    """A turn-in window for argparse, as people write it."""
    try:
        window_times(text)
    except ValueError as exc:
        raise argparse.ArgumentTypeError(str(exc)) from exc
    return text


def lasts(text: str) -> float:
    """A length of time for argparse; days too, of which a site allows seven."""
    days = re.fullmatch(r"\s*(\d)\s*(?:d|days?)\s*", text)
    if days:
        return int(days[1]) * _DAY_S
    try:
        return parse_duration(text)
    except ValueError:
        words = 'write how long with min, h (24 at most) or days, for example "4 h" or "2 days"'
        raise argparse.ArgumentTypeError(words) from None


def add_config(parser: argparse.ArgumentParser) -> None:
    """``--config`` and ``--log``."""
    parser.add_argument("--config", type=Path, metavar="FILE", help="pullcall.toml to use")
    parser.add_argument("--log", type=Path, metavar="FILE", help="cook log to use")


def add_cook(parser: argparse.ArgumentParser) -> None:
    """The argument COOK: a file or the id of a logged cook."""
    parser.add_argument(
        "cook", metavar="COOK", help="a cook file, the id of a logged cook (see logbook), or last"
    )


def log_path(args: argparse.Namespace) -> Path:
    """The cook log that the arguments mean. Raises LogFormatError where what they name is none."""
    settings = None if args.log is not None else load_settings(args.config)
    path = Path(args.log) if settings is None else settings.log_path()
    if settings is None or settings.log.path is not None:
        check_named(path)
    return path


def open_log(args: argparse.Namespace) -> Store:
    """The cook log, to read; it must be there already. Raises LogError."""
    path = log_path(args)
    if not path.exists() or not path.stat().st_size:
        raise LogError(f"There is no cook log at {path}: cook first, or name one with --log.")
    tell_what_waits(path)
    return Store(path, reads_only=True)


def tell_what_waits(log: Path) -> None:
    """Say what the log does not have yet, beside what a command prints."""
    for words in waiting_words(log):
        print(words, file=sys.stderr)


def recorded_cook(args: argparse.Namespace) -> CookFile:
    """The cook that COOK means. Raises LogError where there is none."""
    if Path(args.cook).is_file():
        return read_cook_file(Path(args.cook))
    if "/" in args.cook or args.cook.endswith(".jsonl"):
        raise LogError(f"There is no cook file {args.cook}: check the path.")
    if not log_path(args).exists():
        raise LogError(f"{args.cook} is no file, and there is no cook log to look it up in.")
    with open_log(args) as store:
        return store.cook(logged_id(store, args.cook))


def logged_id(store: Store, word: str) -> str:
    """The id that a word means: itself, or ``last``, the latest cook that is over: then it is said
    which that is. Raises LogError for the last of none."""
    if word != LAST:
        return word
    entry = last_over(store)
    if entry is None:
        raise LogError(_NO_LAST if store.cooks() else _NO_COOK)
    print(printable(f"The last cook: {entry.id}{_began(entry)}."), file=sys.stderr)
    return entry.id


def _began(entry: CookEntry) -> str:
    when = moments(entry.header.started, None).began()
    return f", of {when}" if when else ""


def taught_lines(site: Site) -> list[str]:
    """What the running cook began with that earlier ones taught."""
    found = in_force(site.cook.header.lessons)
    return [f"From your cooks: {', '.join(found)} (`pullcall learned`)."] if found else []

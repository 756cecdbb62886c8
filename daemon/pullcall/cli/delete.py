"""``pullcall delete COOK --yes``: delete a cook for good."""

from __future__ import annotations

import argparse
from datetime import datetime, timedelta
from pathlib import Path

from pullcall.cli.common import add_config, log_path, logged_id, open_log
from pullcall.clock import RealClock
from pullcall.hindsight.shelf import Shelf
from pullcall.log.cook_file import CookFile
from pullcall.log.ids import LAST
from pullcall.log.store import Store
from pullcall.plan.wall import wall_time
from pullcall.printable import printable
from pullcall.site.open_cook import LONGEST_GAP_S


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("delete", help="delete a cook for good")
    parser.add_argument("cook", metavar="COOK", help="the id of a logged cook, or last")
    parser.add_argument("--yes", action="store_true", help="do it: nothing brings it back")
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Delete it and what was worked out of it; without ``--yes`` say what would go, and exit 1."""
    path = log_path(args)
    with open_log(args) as store:
        is_gone = _is_gone(store, args.cook)
        cook = None if is_gone and args.yes else store.cook(logged_id(store, args.cook))
    if cook is None:
        _delete(path, args.cook, is_over=True)
        print(f"Deleted {args.cook}, which was but for its traces.")
        return 0
    name = cook.header.cook
    size = f"{len(cook.records)} records"
    if not args.yes:
        print(printable(f"{name} of {cook.header.started} would go, with {size}: add --yes."))
        return 1
    _delete(path, name, is_over=_is_stale(cook))
    print(printable(f"Deleted {name}, with {size}."))
    return 0


def _delete(path: Path, cook: str, *, is_over: bool) -> None:
    with Store(path) as writer:
        writer.delete(cook, is_over=is_over)
        try:
            Shelf(path).forget(cook)
        finally:
            writer.wipe()


def _is_gone(store: Store, word: str) -> bool:
    """Whether a cook may have been deleted while its traces could not be."""
    return word != LAST and store.has_traces() and all(e.id != word for e in store.cooks())


def _is_stale(cook: CookFile) -> bool:
    """Whether a cook without an end lies so long back that no start would go on with it."""
    last = wall_time(cook.header, cook.ends_t)
    try:
        latest = datetime.fromisoformat(last).astimezone()
    except (ValueError, OverflowError):
        return True
    return RealClock().wall() - latest > timedelta(seconds=LONGEST_GAP_S)

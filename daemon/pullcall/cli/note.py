"""``pullcall note COOK NAME=VALUE …``: write in the logbook."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from pullcall.cli.common import add_config, log_path, logged_id, open_log
from pullcall.clock import RealClock
from pullcall.events import Note
from pullcall.log.store import Store
from pullcall.logbook.notes import check_note, parse_note_text, standing
from pullcall.printable import printable


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "note",
        help="write in the logbook",
        description="Write in the logbook, or without NAME=VALUE print what stands there. Of a "
        "cook: place, contest, notes, rest_board, tags, photos, handed_in, score.CATEGORY; of a "
        "steak: notes, weight_g, photos. Without a value it is taken out.",
    )
    parser.add_argument("cook", metavar="COOK", help="the id of a logged cook, or last")
    parser.add_argument("notes", nargs="*", metavar="NAME=VALUE", help="such as place=Riverside")
    parser.add_argument("--steak", metavar="NAME", help="of this steak, not of the cook")
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write all of it, or nothing where one note cannot be; then print what stands."""
    given = [parse_note_text(text) for text in args.notes]
    with open_log(args) as store:
        cook = store.cook(logged_id(store, args.cook))
    wall = RealClock().wall().isoformat(timespec="seconds")
    steaks = cook.header.names()
    notes = [check_note(Note(wall, args.steak, *note), steaks) for note in given]
    if notes:
        with Store(log_path(args)) as writer:
            writer.note(cook.header.cook, notes)
    _print((*cook.notes, *notes))
    return 0


def _print(notes: Iterable[Note]) -> None:
    for note in standing(notes):
        of = f"{note.steak}: " if note.steak else ""
        value = ", ".join(note.value) if isinstance(note.value, tuple) else note.value
        shown = f"{value:g}" if isinstance(value, float) else str(value)
        print(printable(f"{of}{note.name}={shown}"))

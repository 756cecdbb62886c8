"""Parses the command line and turns errors into one sentence and an exit code."""

from __future__ import annotations

import argparse
import logging
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from importlib.metadata import version

from pullcall import journal
from pullcall.cli.arguments import CommandParser
from pullcall.errors import PullcallError
from pullcall.printable import printable

#: One module each, in the order of the help.
COMMANDS = (
    "serve",
    "demo",
    "pair",
    "board",
    "plan",
    "probes",
    "layout",
    "logbook",
    "note",
    "delete",
    "backup",
    "restore",
    "export",
    "bring_in",
    "replay",
    "report",
    "compare",
    "learned",
)


def main(argv: list[str] | None = None) -> int:
    """Run one command; 0 if it did its work, 1 with a sentence on stderr if not."""
    argv = sys.argv[1:] if argv is None else argv
    parser = build_parser(argv[:1])
    args = parser.parse_args(argv)
    if not hasattr(args, "run"):
        parser.print_help()
        return 0
    journal.begin()
    logging.getLogger("bleak").setLevel(logging.ERROR)  # the collector says what it means for us
    logging.getLogger("httpx").setLevel(logging.WARNING)  # addresses it asks are no news
    try:
        return int(args.run(args))
    except PullcallError as exc:
        print(f"pullcall: {printable(str(exc))}", file=sys.stderr)
        return 1
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 130


def build_parser(asked: Sequence[str] = ()) -> argparse.ArgumentParser:
    """The parser with every command, or with the one alone that is ``asked`` for, where there is
    one of that name: a daemon starts without what other commands need."""
    parser = argparse.ArgumentParser(
        prog="pullcall",
        description="Forecasts when each steak reaches its pull temperature and calls it.",
    )
    parser.add_argument("--version", action="version", version=f"pullcall {version('pullcall')}")
    commands = parser.add_subparsers(metavar="COMMAND", parser_class=CommandParser)
    for name in [name for name in COMMANDS if name in asked] or COMMANDS:
        import_module(f"pullcall.cli.{name}").add(commands)
    return parser

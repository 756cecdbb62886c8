"""``pullcall export COOK``: a logged cook as JSON Lines."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from pullcall.cli.common import add_config, logged_id, open_log
from pullcall.errors import LogError


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("export", help="write a logged cook as JSON Lines")
    parser.add_argument("cook", metavar="COOK", help="the id of a logged cook, or last")
    parser.add_argument("-o", "--output", metavar="FILE", help="file to write (else: stdout)")
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write the cook's lines exactly as logged."""
    with open_log(args) as store:
        text = "".join(f"{line}\n" for line in store.lines(logged_id(store, args.cook)))
    if args.output in (None, "-"):
        sys.stdout.write(text)
        return 0
    try:
        Path(args.output).write_text(text, encoding="utf-8")
    except OSError as exc:
        raise LogError(f"Cannot write {args.output} ({exc.strerror}): choose another.") from exc
    return 0

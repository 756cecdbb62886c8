"""``pullcall import FILE``: a cook file into the log."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from pullcall.cli.common import add_config, log_path, wall_time
from pullcall.log.cook_file import read_cook_file
from pullcall.log.store import Store


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("import", help="add a cook file to the log")
    parser.add_argument("file", type=Path, metavar="FILE", help="a cook as JSON Lines")
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Import the cook; broken lines are named and left out, and the exit code is then 2."""
    cook = read_cook_file(args.file)
    ended = cook.inputs[-1].t if cook.inputs else 0.0
    with Store(log_path(args)) as store:
        store.bring_in(cook, wall_time(cook.header, ended))
    for broken in cook.broken:
        print(f"{args.file}, {broken}; this line was left out.", file=sys.stderr)
    print(f"Imported {cook.header.cook}: {len(cook.records)} records, {len(cook.broken)} left out.")
    return 2 if cook.broken else 0

"""``pullcall import FILE``: a cook file, or a table of temperatures, into the log."""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from pathlib import Path

from pullcall.cli.common import add_config, log_path
from pullcall.errors import LogError, LogFormatError
from pullcall.log.cook_file import CookFile, read_cook_file
from pullcall.log.csv_cook import decode_csv, read_csv
from pullcall.log.csv_told import MARKS, told_of
from pullcall.log.store import Store
from pullcall.plan.wall import wall_time
from pullcall.printable import printable


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("import", help="add a cook file, or a CSV table, to the log")
    parser.add_argument(
        "file", type=Path, metavar="FILE", help="a cook as JSON Lines, or CSV with --columns"
    )
    parser.add_argument(
        "--columns", metavar="NAMES", help="CSV: such as time=Time,left=Probe1,grate=Pit"
    )
    parser.add_argument("--unit", choices=("F", "C"), help="CSV: the unit of the temperatures")
    for kind in MARKS:
        parser.add_argument(
            f"--{kind}",
            action="append",
            default=[],
            metavar="STEAK=TIME",
            help=f'CSV: a mark "{kind}", in the table\'s own time',
        )
    parser.add_argument(
        "--thickness", action="append", default=[], metavar="STEAK=MM", help="CSV: millimetres"
    )
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Import the cook; broken lines are named and left out, and the exit code is then 2."""
    cook = _cook(args)
    with Store(log_path(args)) as store:
        store.bring_in(cook, wall_time(cook.header, cook.ends_t))
    for broken in cook.broken:
        print(printable(f"{args.file}, {broken}; this line was left out."), file=sys.stderr)
    print(f"Imported {cook.header.cook}: {len(cook.records)} records, {len(cook.broken)} left out.")
    if args.columns is not None and not args.on:
        print("Nothing says when a steak went on: forecasts begin there. Give --on.")
    return 2 if cook.broken else 0


def _cook(args: argparse.Namespace) -> CookFile:
    if args.columns is None:
        if args.file.suffix.lower() in (".csv", ".tsv"):
            raise LogFormatError("Name the columns of the table with --columns (see import -h).")
        return read_cook_file(args.file)
    marks = {str(kind): getattr(args, str(kind)) for kind in MARKS}
    told = told_of(args.columns, args.unit, marks, args.thickness)
    try:
        text = decode_csv(args.file.read_bytes())
        changed = datetime.fromtimestamp(args.file.stat().st_mtime, UTC).astimezone()
    except OSError as exc:
        raise LogError(f"Cannot read {args.file}: {exc.strerror}. Check the path.") from exc
    return read_csv(text, told, name=args.file.name, when=changed)

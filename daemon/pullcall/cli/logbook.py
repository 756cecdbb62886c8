"""``pullcall logbook``: the logged cooks, a line each."""

from __future__ import annotations

import argparse

from pullcall.cli.common import add_config, open_log


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("logbook", help="list the logged cooks")
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the list, the latest last."""
    with open_log(args) as store:
        for entry in store.cooks():
            state = f"ended {entry.ended}" if entry.ended else "not ended"
            steaks = ", ".join(entry.header.names())
            print(f"{entry.id}  started {entry.header.started}  {state}  steaks: {steaks}")
    return 0

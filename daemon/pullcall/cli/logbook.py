"""``pullcall logbook``: the logged cooks, a line each."""

from __future__ import annotations

import argparse
from datetime import datetime

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
            steaks = ", ".join(entry.header.names())
            print(f"{entry.id}  {_when(entry.header.started, entry.ended)}  steaks: {steaks}")
    return 0


def _when(started: str, ended: str | None) -> str:
    """Start in local time and how long it took; odd texts as they are."""
    try:
        begin = datetime.fromisoformat(started).astimezone()
        if ended is None:
            return f"{begin:%Y-%m-%d %H:%M}, not ended"
        minutes = (datetime.fromisoformat(ended) - begin).total_seconds() / 60.0
        return f"{begin:%Y-%m-%d %H:%M}, {minutes:.0f} min"
    except ValueError:
        return started

"""``pullcall backup FILE``: everything as one file, also while cooking."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from pullcall.cli.common import add_config, log_path, tell_what_waits
from pullcall.log.backup import back_up
from pullcall.log.secrets_out import without_secrets
from pullcall.settings import config_text


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "backup",
        help="write every cook into one file, also while cooking",
        description="Write every cook with its calls, notes and choices, and pullcall.toml "
        "without its secrets, into one file. Pairings and certificates are not in it.",
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="file to write")
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write the backup and say what is in it."""
    config = config_text(args.config)
    tell_what_waits(log_path(args))
    cooks = back_up(log_path(args), args.file, config, _tell if sys.stderr.isatty() else None)
    print(f"Backed up {cooks} {'cook' if cooks == 1 else 'cooks'} into {args.file}.")
    if config is not None and without_secrets(config) is None:
        print("The settings are not in it: their secrets could not be told apart.")
    return 0


def _tell(done: int, pages: int) -> None:
    print(f"\r\033[K{100 * done // max(1, pages)} %", end="", file=sys.stderr, flush=True)
    if done == pages:
        print("\r\033[K", end="", file=sys.stderr, flush=True)

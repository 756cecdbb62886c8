"""``pullcall restore FILE``: bring in what a backup has and the log does not."""

from __future__ import annotations

import argparse
from pathlib import Path

from pullcall.cli.common import add_config, log_path
from pullcall.errors import LogError
from pullcall.log.backup import restore
from pullcall.log.backup_file import Backup


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "restore",
        help="bring in the cooks of a backup; nothing is overwritten",
        description="Bring in every cook of a backup that the log does not have. Nothing is "
        "overwritten, and a damaged backup changes nothing.",
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="a file that backup wrote")
    parser.add_argument(
        "--settings", type=Path, metavar="FILE", help="write the settings of that time here too"
    )
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Bring the cooks in, and say how many were new."""
    config = None if args.settings is None else _settings(args.file)
    restored = restore(args.file, log_path(args))
    print(restored.words)
    if config is not None:
        _write(args.settings, config)
        print(f"The settings of that time are in {args.settings}, without their secrets.")
    return 0


def _settings(backup: Path) -> str:
    with Backup(backup) as opened:
        config = opened.config()
    if config is None:
        raise LogError("The backup holds no settings: leave --settings out.")
    return config


def _write(path: Path, config: str) -> None:
    """Never over a file that is there."""
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(config)
    except OSError as exc:
        raise LogError(f"Cannot write {path} ({exc.strerror}): give a new file.") from exc

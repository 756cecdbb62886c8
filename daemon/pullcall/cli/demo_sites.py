"""``pullcall demo --sites N``: simulated sites at a broker of their own, and a board."""

from __future__ import annotations

import argparse
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from pullcall.cli.board import serve_board
from pullcall.settings import load_settings

#: More than this are for the bench: here the machine also has a browser to run.
MOST = 200


def sites(text: str) -> int:
    """How many sites, for argparse."""
    number = int(text)
    if not 1 <= number <= MOST:
        raise argparse.ArgumentTypeError(f"give a number of sites from 1 to {MOST}")
    return number


def run(args: argparse.Namespace) -> int:
    """Show the sites until stopped. Raises BrokerError where there is no mosquitto."""
    from pullcall.simulators.open_broker import open_broker

    settings = load_settings(None)
    page = settings.board.served_at(args.host or "127.0.0.1", args.port)
    with ExitStack() as stack:
        folder = Path(stack.enter_context(TemporaryDirectory(prefix="pullcall-")))
        broker = stack.enter_context(open_broker(folder))
        stack.enter_context(_publishing(args, broker.port))
        serve_board(page, broker.options(), settings.metrics.token)
    return 0


@contextmanager
def _publishing(args: argparse.Namespace, port: int) -> Iterator[None]:
    """The simulated sites for a block's length, in a process of their own."""
    options = {"--sites": args.sites, "--speed": args.speed, "--broker": f"127.0.0.1:{port}"}
    command = [sys.executable, "-m", "pullcall.simulators.sites"]
    command += [str(part) for option in options.items() for part in option]
    process = subprocess.Popen(command, start_new_session=True)
    try:
        yield
    finally:
        process.terminate()
        process.wait()

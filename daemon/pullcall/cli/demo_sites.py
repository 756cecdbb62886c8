"""``pullcall demo --sites N``: simulated sites at a broker of their own, and a board."""

from __future__ import annotations

import argparse
import sys
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from pullcall.child_process import spawn
from pullcall.cli.board import serve_board
from pullcall.settings import load_settings
from pullcall.supervision import Part

#: More than this are for the bench: here the machine also has a browser to run.
MOST = 200


def sites(text: str) -> int:
    """How many sites, for argparse."""
    if not text.isdecimal() or not 1 <= int(text) <= MOST:
        raise argparse.ArgumentTypeError(f"give a number of sites from 1 to {MOST}")
    return int(text)


def run(args: argparse.Namespace) -> int:
    """Show the sites until stopped. Raises BrokerError where there is no mosquitto."""
    from pullcall.simulators.open_broker import open_broker

    settings = load_settings(None)
    page = settings.board.served_at(args.host or "127.0.0.1", args.port)
    folder = TemporaryDirectory(prefix="pullcall-")
    with folder as place, open_broker(Path(place)) as broker:
        sites = Part("simulated sites", partial(_publish, args.sites, args.speed, broker.port))
        serve_board(page, broker.options(), settings.metrics.token, sites)
    return 0


async def _publish(count: int, speed: float, port: int) -> None:
    """Run the simulated sites, in a process of their own, until cancelled."""
    options = {"--sites": count, "--speed": speed, "--broker": f"127.0.0.1:{port}"}
    told = [str(part) for option in options.items() for part in option]
    command = (sys.executable, "-m", "pullcall.simulators.sites", *told)
    process = await spawn(command)
    try:
        await process.wait()
    finally:
        await process.end()

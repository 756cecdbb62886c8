"""``python -m pullcall.simulators.bluetooth``: a virtual adapter until told to stop."""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import json
import os
import signal
import sys
import tempfile
from pathlib import Path

from pullcall.errors import PullcallError
from pullcall.simulators.bluetooth.adapter import VirtualAdapter
from pullcall.simulators.bluetooth.bus import private_bus
from pullcall.simulators.bluetooth.channel import control_channel
from pullcall.simulators.bluetooth.scenario import load


def main() -> int:
    """Serve until SIGTERM or SIGINT; print one line of JSON once ready."""
    try:
        asyncio.run(_serve(_options()))
    except PullcallError as exc:
        print(exc, file=sys.stderr)
        return 1
    return 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m pullcall.simulators.bluetooth",
        description="Serve a virtual Bluetooth adapter with probes on a message bus.",
    )
    parser.add_argument(
        "--scenario", default="demo", help="a JSON file of probes, or demo (the default)"
    )
    parser.add_argument("--control", help="where to put the control socket")
    parser.add_argument("--bus", help="address of a running bus; without it, one is started")
    parser.add_argument(
        "--until-stdin-closes", action="store_true", help="end with the program that started this"
    )
    return parser.parse_args()


async def _serve(options: argparse.Namespace) -> None:
    probes = load(options.scenario)
    stop = _stop_event(options.until_stdin_closes)
    async with contextlib.AsyncExitStack() as stack:
        bus = options.bus or await stack.enter_async_context(private_bus())
        adapter = await stack.enter_async_context(VirtualAdapter(bus, probes))
        folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="pullcall-control-"))
        path = options.control or str(Path(folder, "control"))
        await stack.enter_async_context(control_channel(adapter, path))
        print(json.dumps({"bus": bus, "control": path}), flush=True)
        await stop.wait()


def _stop_event(until_stdin_closes: bool) -> asyncio.Event:
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(number, stop.set)
    if until_stdin_closes:
        loop.add_reader(sys.stdin.fileno(), _at_end, stop)
    return stop


def _at_end(stop: asyncio.Event) -> None:
    if not os.read(sys.stdin.fileno(), 4096):
        asyncio.get_running_loop().remove_reader(sys.stdin.fileno())
        stop.set()


if __name__ == "__main__":
    sys.exit(main())

"""``pullcall replay COOK``: the page playing it, or its streams as fast as it goes."""

from __future__ import annotations

import argparse
import asyncio
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TextIO

from pullcall.cli.common import (
    add_config,
    add_cook,
    log_path,
    logged_id,
    open_log,
    port,
    recorded_cook,
)
from pullcall.clock import RealClock
from pullcall.errors import LogError
from pullcall.events import Call, Forecast
from pullcall.log.call_records import call_record, forecast_record
from pullcall.log.cook_file import CookFile
from pullcall.log.records import to_line
from pullcall.log.replay import replayed
from pullcall.printable import printable
from pullcall.settings import load_settings
from pullcall.site.left_out import left_out

#: Times life's speed: those that the page offers (deck.js).
SPEEDS = (1, 2, 4, 6, 10, 20, 30, 60)


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("replay", help="play a logged cook into the page, or as streams")
    add_cook(parser)
    parser.add_argument("--speed", type=int, choices=SPEEDS, default=1, help="times life's speed")
    parser.add_argument("--port", type=port, metavar="PORT", help="port of the page")
    parser.add_argument("--forecasts", metavar="OUT", help="write the forecast stream (-: stdout)")
    parser.add_argument("--calls", metavar="OUT", help="write the call stream (-: stdout)")
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write the streams asked for, or serve the page until stopped."""
    cook = recorded_cook(args)
    for broken in cook.broken:
        print(printable(f"{args.cook}, {broken}; this line was left out."), file=sys.stderr)
    if args.forecasts or args.calls:
        return _write_streams(cook, args.forecasts, args.calls)
    _say_what_is_left_out(cook)
    return _show(args)


def _write_streams(cook: CookFile, forecasts: str | None, calls: str | None) -> int:
    with ExitStack() as stack:
        forecast_out = stack.enter_context(_output(forecasts))
        call_out = stack.enter_context(_output(calls))
        effects, taken = replayed(cook)
        _say_what_is_left_out(taken)
        for effect in effects:
            if isinstance(effect, Forecast) and forecast_out:
                forecast_out.write(to_line(forecast_record(effect)) + "\n")
            elif isinstance(effect, Call) and call_out:
                call_out.write(to_line(call_record(effect)) + "\n")
    return 0


def _say_what_is_left_out(cook: CookFile) -> None:
    for omission in cook.omissions:
        print(printable(f"{left_out(omission, cook.header)}."), file=sys.stderr)


def _show(args: argparse.Namespace) -> int:
    # The page's server is only loaded where a page is served.
    from pullcall.app import serve
    from pullcall.cli.doors import open_doors
    from pullcall.site.recorded import RecordedSite

    settings = load_settings(args.config)
    recorded, recording = _recording(args)
    site = RecordedSite(recorded.header, recording, settings.page.unit, args.speed)
    page = settings.page.served_at("127.0.0.1", args.port)
    with open_doors(page, None, RealClock()) as doors_of:
        doors = doors_of(site)

        def ready() -> str:
            print(f"Replaying {recorded.header.cook} at {args.speed}x: open {doors.here}")
            print("Press Ctrl-C to stop.", flush=True)
            return f"A replay is at {doors.here}."

        asyncio.run(serve(site, doors.doors, ready, *doors.others))
    return 0


def _recording(args: argparse.Namespace) -> tuple[CookFile, bytes]:
    """The cook that COOK means, and what the page plays of it."""
    from pullcall.hindsight.work import recording_of, recording_of_file

    if Path(args.cook).is_file():
        source, recording = recording_of_file(Path(args.cook))
    else:
        with open_log(args) as store:
            cook = logged_id(store, args.cook)
        source, recording = recording_of(log_path(args), cook)
    return source.recorded, recording


@contextmanager
def _output(name: str | None) -> Iterator[TextIO | None]:
    """A text file to write, stdout for ``-``, or None."""
    if name is None:
        yield None
    elif name == "-":
        yield sys.stdout
    else:
        try:
            with Path(name).open("w", encoding="utf-8") as file:
                yield file
        except OSError as exc:
            raise LogError(f"Cannot write {name} ({exc.strerror}): choose another path.") from exc

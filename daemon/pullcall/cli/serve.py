"""``pullcall serve``: the daemon, left running at the cook site."""

from __future__ import annotations

import argparse
import asyncio
from dataclasses import replace

from pullcall.cli.common import add_config, log_path, port, window
from pullcall.clock import RealClock, boot_id
from pullcall.log.store import Store
from pullcall.settings import Settings, load_settings
from pullcall.site.options import SiteOptions
from pullcall.sources.sink import Source

_STOP = "Press Ctrl-C to stop; the cook goes on where it was at the next start."


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("serve", help="run the daemon at the cook site")
    parser.add_argument("--host", metavar="ADDRESS", help="address to serve the page on")
    parser.add_argument("--port", type=port, metavar="PORT", help="port to serve the page on")
    parser.add_argument(
        "--window", type=window, metavar="FROM-TO", help="the turn-in window, such as 14:00-14:30"
    )
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Serve until SIGINT or SIGTERM."""
    from pullcall.app import serve
    from pullcall.cli.doors import banner, open_doors, pairings_beside, welcome
    from pullcall.outlets.assembly import make_outlets
    from pullcall.outlets.phones import Phones
    from pullcall.site.live import Site

    settings = load_settings(args.config)
    page = settings.page.served_at(args.host, args.port)
    clock = RealClock()
    log = log_path(args)
    with open_doors(page, pairings_beside(log), clock) as doors_of, Store(log) as store:
        desk = make_outlets(
            settings.loudspeaker_options(), settings.webhook_options(), Phones(clock), clock
        )
        options = _options(settings, banner(page), args.window)
        site = Site(store, clock, _sources(settings, clock), options, desk)
        doors = doors_of(site)

        def ready() -> None:
            print(f"Pullcall is ready: open {doors.here}  (log: {store.path})")
            print("\n".join(welcome(doors)))
            print(_STOP, flush=True)

        asyncio.run(serve(site, doors.doors, ready, *doors.others))
    return 0


def _options(settings: Settings, banner: str | None, window: str | None) -> SiteOptions:
    return SiteOptions(
        unit=settings.page.unit,
        banner=banner,
        boot=boot_id(),
        usual=settings.usual_cook(),
        window=window or settings.plan.window,
    )


def _sources(settings: Settings, clock: RealClock) -> list[Source]:
    if not settings.bluetooth.enabled:
        return []
    from pullcall.sources.bluetooth import BluetoothSource

    options = settings.bluetooth_options()
    if not options.only:
        # Other cooks' probes are in range too: with our own named, theirs are left alone.
        options = replace(options, only=settings.named_devices())
    return [BluetoothSource(options, clock)]

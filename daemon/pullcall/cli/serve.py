"""``pullcall serve``: the daemon, left running at the cook site."""

from __future__ import annotations

import argparse
import asyncio
import ipaddress
import socket
from dataclasses import replace

from pullcall.cli.common import add_config, log_path, port, window
from pullcall.clock import RealClock, boot_id
from pullcall.log.store import Store
from pullcall.settings import Settings, load_settings
from pullcall.site.options import SiteOptions
from pullcall.sources.sink import Source

OPEN_WARNING = (
    "Anyone on this network can watch and mark: the page is open beyond this machine "
    "and nothing is paired yet."
)


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
    from pullcall.api.app import create_app
    from pullcall.app import bind, serve
    from pullcall.outlets.assembly import make_outlets
    from pullcall.outlets.phones import Phones
    from pullcall.site.live import Site

    settings = load_settings(args.config)
    host, at = args.host or settings.page.host, args.port or settings.page.port
    with bind(host, at) as listener, Store(log_path(args)) as store:
        clock = RealClock()
        desk = make_outlets(
            settings.loudspeaker_options(), settings.webhook_options(), Phones(clock), clock
        )
        options = _options(settings, host, args.window)
        site = Site(store, clock, _sources(settings, clock), options, desk)

        def ready() -> None:
            print(f"Pullcall is ready: open {_address(host, at)}  (log: {store.path})")
            if not _is_loopback(host):
                print(f"Caution: {OPEN_WARNING}")
            print(
                "Press Ctrl-C to stop; the cook goes on where it was at the next start.", flush=True
            )

        asyncio.run(serve(site, create_app(site), listener, ready))
    return 0


def _options(settings: Settings, host: str, window: str | None) -> SiteOptions:
    return SiteOptions(
        unit=settings.page.unit,
        banner=None if _is_loopback(host) else OPEN_WARNING,
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


def _address(host: str, at: int) -> str:
    """What to open: for "every address", this machine's own one on its network."""
    if host in ("0.0.0.0", "::"):
        host = _own_address()
    return f"http://[{host}]:{at}/" if ":" in host else f"http://{host}:{at}/"


def _own_address() -> str:
    """The address other machines see; found without sending anything."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address reserved for documentation
            own: str = probe.getsockname()[0]
        except OSError:
            own = "127.0.0.1"
    return own


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"

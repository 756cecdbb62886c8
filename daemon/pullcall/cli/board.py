"""``pullcall board``: many sites on one page, read-only, and links for those who watch."""

from __future__ import annotations

import argparse
import asyncio
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from pullcall.access.records import Sight
from pullcall.access.role import Role
from pullcall.access.terms import life_of
from pullcall.bus.options import SITE
from pullcall.cli import board_place
from pullcall.cli.common import DELAYS_MIN, lasts, port
from pullcall.cli.invitation import qr, remaining
from pullcall.clock import Clock, RealClock
from pullcall.errors import ConfigError
from pullcall.served_section import BoardSection
from pullcall.settings import Settings, load_settings, state_folder
from pullcall.supervision import Part

if TYPE_CHECKING:
    from fastapi import FastAPI

    from pullcall.api.board.admission import BoardAdmission
    from pullcall.api.front import Front
    from pullcall.bus.options import BrokerOptions
    from pullcall.cli.doors import Doors

#: The folder of its certificates: a site on the same machine has its own authority.
_TLS = "board-tls"
_NO_BROKER = (
    "A board shows what sites publish at an MQTT broker: write [mqtt] host (and user and password) "
    "in pullcall.toml, or name the file with --config."
)
_ONCE_OPEN = "  It opens once the board runs with --host 0.0.0.0 (or [board] host)."
#: Every address of this machine.
_EVERYWHERE = "0.0.0.0"
_FOR_WATCHERS = "Watchers come in by links: `pullcall board link` prints one."
_FOR_OTHERS = "For watchers on other machines, start it with --host 0.0.0.0."


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("board", help="show many sites on one page, read-only")
    _add_where(parser, None)
    parser.set_defaults(run=run)
    link = parser.add_subparsers(metavar="link").add_parser(
        "link", help="print a link and a QR for watchers"
    )
    link.add_argument("--site", type=_site, metavar="NAME", help="show this site only")
    link.add_argument("--lasts", type=lasts, metavar="TIME", help='how long: "4 h", "2 days"')
    link.add_argument(
        "--delay", type=int, choices=DELAYS_MIN, default=0, help="minutes it is shown late"
    )
    link.add_argument(
        "--hide-targets", action="store_true", help="show no targets, pulls and forecasts"
    )
    link.add_argument(
        "--address", type=_address, metavar="ADDRESS", help="where watchers reach the boards"
    )
    # What stands before the word "link" counts, too.
    _add_where(link, argparse.SUPPRESS)
    link.set_defaults(run=run_link)


def _add_where(parser: argparse.ArgumentParser, default: str | None) -> None:
    parser.add_argument(
        "--host", metavar="ADDRESS", default=default, help="address to serve the page on"
    )
    parser.add_argument(
        "--port", type=port, metavar="PORT", default=default, help="port to serve the page on"
    )
    parser.add_argument(
        "--config", type=Path, metavar="FILE", default=default, help="pullcall.toml to use"
    )


def run(args: argparse.Namespace) -> int:
    """Serve until SIGINT or SIGTERM."""
    settings = load_settings(args.config)
    page, broker = settings.board.served_at(args.host, args.port), settings.mqtt.broker()
    if broker is None:
        raise ConfigError(_NO_BROKER)
    serve_board(page, broker, settings.metrics.token)
    return 0


def serve_board(
    page: BoardSection,
    broker: BrokerOptions,
    token: str,
    *others: Part,
) -> None:
    """Serve every site of a broker until SIGINT or SIGTERM; ``token`` is that of ``/metrics``,
    ``others`` run beside it."""
    from pullcall.api.board.app import create_board_app
    from pullcall.api.board.metrics import serve_board_metrics
    from pullcall.api.board.secret_file import board_secret
    from pullcall.app import serve
    from pullcall.board.board import Board
    from pullcall.cli.doors import doors_around

    clock = RealClock()
    folder = state_folder()
    secret = board_secret(page.secret, folder)
    admission = _admission(secret, clock)
    with doors_around(page, clock, _TLS) as doors_of, board_place.told(page, secret, folder):
        board = Board(broker, clock, page.unit)

        def make(front: Front) -> FastAPI:
            app = create_board_app(board, admission, front)
            serve_board_metrics(app, board, token)
            return app

        doors = doors_of(make)
        ready = partial(_tell, doors, broker)
        asyncio.run(serve(board, doors.doors, ready, *doors.others, *others))


def _tell(doors: Doors, broker: BrokerOptions) -> str:
    """Where the board is, and how others come in; gives the first for a service manager."""
    from pullcall.cli.doors import trust_lines

    print(f"The board is ready: open {doors.here}  (broker: {broker.host}:{broker.port})")
    others = [f"It is also at {', '.join(doors.links())}"] if doors.links() else []
    how = _FOR_WATCHERS if doors.links() else _FOR_OTHERS
    print("\n".join([*others, how, *trust_lines(doors), "", "Press Ctrl-C to stop."]), flush=True)
    return f"The board is at {doors.here}, its broker is {broker.host}:{broker.port}."


def run_link(args: argparse.Namespace) -> int:
    """Print a link; no board has to run for it. Raises RefusedError with what to do."""
    from pullcall.api.board.secret_file import known_secret
    from pullcall.cli.doors import is_open, links_to

    settings, clock = load_settings(args.config), RealClock()
    secret = known_secret(settings.board.secret, state_folder())
    page = _page_of_links(args, settings, secret)
    # A link is for others, so for a board that they can reach.
    opened = page if is_open(page) else page.served_at(_EVERYWHERE, None)
    addresses = (args.address,) if args.address else links_to(opened, clock)
    sight = Sight(args.delay * 60.0, args.hide_targets)
    key = _admission(secret, clock).link(args.lasts, sight, args.site)
    link = f"{addresses[0]}{f'sites/{args.site}/' if args.site else ''}#k={key}"
    left = remaining(life_of(Role.WATCHER, args.lasts))
    what = f"the site {args.site} only" if args.site else "all sites"
    print(f"For watchers ({what}), good for {left}:\n")
    once_open = [] if args.address or is_open(page) else [_ONCE_OPEN]
    print("\n".join([*qr(link), f"  Scan it, or share the link: {link}", *once_open]))
    return 0


def _page_of_links(args: argparse.Namespace, settings: Settings, secret: bytes) -> BoardSection:
    """The arguments come first, then the board that runs here, then the settings."""
    page, found = settings.board, board_place.running(secret, state_folder())
    if found is not None:
        page = page.served_at(*found)
    return page.served_at(args.host, args.port)


def _admission(secret: bytes, clock: Clock) -> BoardAdmission:
    from pullcall.api.board.admission import BoardAdmission
    from pullcall.api.board.passes import Passes

    return BoardAdmission(Passes(secret), clock)


def _site(text: str) -> str:
    """A site's id for argparse."""
    if SITE.fullmatch(text) is None:
        raise argparse.ArgumentTypeError("give the site as in its [mqtt] site, such as north")
    return text


def _address(text: str) -> str:
    """An address for argparse: a name, with a port or not, is reached over TLS."""
    address = text if "://" in text else f"https://{text}"
    parts = urlsplit(address)
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.query or parts.fragment:
        raise argparse.ArgumentTypeError("give an address such as https://board.example.org/")
    return f"{address.rstrip('/')}/"

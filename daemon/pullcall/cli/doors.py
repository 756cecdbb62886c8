"""Where a page is served: the sockets, their certificates, and who may come in."""

from __future__ import annotations

import socket
import sys
from collections.abc import Callable, Coroutine, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from pullcall.access.access import Access
from pullcall.access.records import WHOLE
from pullcall.access.role import Role
from pullcall.app import Door, bind
from pullcall.cli import invitation
from pullcall.clock import Clock
from pullcall.network.addresses import own_addresses
from pullcall.network.announcer import Announcer
from pullcall.network.loopback import is_loopback
from pullcall.network.names import local_name, own_names
from pullcall.settings import PageSection, state_folder
from pullcall.tls.files import CertificateFiles
from pullcall.tls.keeper import CertificateKeeper

if TYPE_CHECKING:
    from starlette.types import ASGIApp

    from pullcall.api.cook_site import CookSite

#: Said above the lanes while phones may act without encryption.
PLAIN_WARNING = (
    "This page is not encrypted: anyone on this network can read along, and take over a phone's "
    "pairing."
)
_WILDCARDS = ("0.0.0.0", "::")


@dataclass(frozen=True, slots=True)
class Doors:
    """``others`` has to run beside the site; ``here`` is the page's address on this machine.

    ``links()`` gives its addresses for phones; without phones it is empty. ``trust`` and
    ``fingerprint`` are where the certificate is explained, and what to compare.
    """

    doors: tuple[Door, ...]
    others: tuple[Coroutine[Any, Any, None], ...]
    here: str
    links: Callable[[], tuple[str, ...]]
    access: Access
    trust: str | None = None
    fingerprint: str | None = None


@dataclass(frozen=True, slots=True)
class _Bound:
    """Listening sockets: the page's own, and those for plain http besides."""

    main: socket.socket
    plain: list[socket.socket]


def is_open(page: PageSection) -> bool:
    """Whether the page is served beyond this machine."""
    return not is_loopback(page.host)


def banner(page: PageSection) -> str | None:
    """What has to be said above the lanes of a page served like this."""
    return PLAIN_WARNING if is_open(page) and page.tls == "off" and page.plain_control else None


def pairings_beside(log: Path) -> Path:
    """Where the pairings of a cook log are kept: "cooks.paired.json" beside "cooks.db"."""
    return log.with_suffix(".paired.json")


def welcome(doors: Doors) -> list[str]:
    """How a phone comes in. Secrets are shown on a terminal only, never in a service's journal."""
    if not doors.links():
        return ["For phones, start it with --host 0.0.0.0: they are paired by a QR or a code.", ""]
    trust = [] if doors.trust is None else ["", *_trust_lines(doors)]
    if not sys.stdout.isatty():
        return ["Phones come in by the QR or the code that `pullcall pair` prints.", *trust, ""]
    return ["", *invitation.lines(_first_invitation(doors)), *trust, ""]


def _first_invitation(doors: Doors) -> dict[str, Any]:
    """An invitation of a cook, as the API would answer it."""
    access = doors.access
    invited = access.invite(Role.COOK, "", None, WHOLE)
    opened = access.open_code(invited.invitation.id)
    return {
        "role": Role.COOK,
        "expires_in_s": access.seconds_left(invited.invitation),
        "links": [f"{base}#k={invited.secret}" for base in doors.links()],
        "code": opened.code,
        "code_expires_in_s": opened.lasts_s,
    }


def _trust_lines(doors: Doors) -> list[str]:
    lines = [f"  Browsers warn until they trust this site's certificate: {doors.trust} tells how."]
    return [*lines, f"  Its fingerprint is {doors.fingerprint}"]


@contextmanager
def open_doors(
    page: PageSection, pairings: Path | None, clock: Clock
) -> Iterator[Callable[[CookSite], Doors]]:
    """Bind what ``page`` asks for; the result takes the site to serve.

    Phones' pairings are kept in the file ``pairings`` (None: in memory only). Raises
    AddressInUseError or ConfigError, saying what to do.
    """
    with ExitStack() as stack:
        main = stack.enter_context(bind(page.host, page.port))
        bound = _Bound(main, [stack.enter_context(bind(*at)) for at in _plain_places(page)])
        access = Access(clock, pairings)
        yield lambda site: _doors(page, site, access, bound, clock)


def _plain_places(page: PageSection) -> list[tuple[str, int]]:
    """Where plain http is served besides: this machine itself always has a way in."""
    if not is_open(page):
        return []
    everywhere = page.host in _WILDCARDS
    if page.tls == "off":
        return [] if everywhere else [("127.0.0.1", page.port)]
    more = [] if everywhere else [("127.0.0.1", page.plain_at())]
    return [(page.host, page.plain_at()), *more]


def _doors(page: PageSection, site: CookSite, access: Access, bound: _Bound, clock: Clock) -> Doors:
    """The application behind every socket, and what has to run for it."""
    from pullcall.api.app import create_app
    from pullcall.api.front import Front

    names = own_names(page.name, page.names)
    front = Front(frozenset(names), lambda: _links(page), page.plain_control)
    app = create_app(site, access, front)
    feeds = app.state.feeds.run()
    if not is_open(page):
        here = f"http://{_in_url(page.host)}:{page.port}/"
        return Doors((Door(bound.main, app),), (feeds,), here, _no_links, access)
    announcer = Announcer(page.name, page.port, clock, is_secure=page.tls != "off")
    others = (feeds, announcer.run())
    if page.tls == "off":
        doors = tuple(Door(listener, app) for listener in (bound.main, *bound.plain))
        return Doors(doors, others, f"http://127.0.0.1:{page.port}/", front.links, access)
    return _over_tls(page, names, app, Doors((), others, "", front.links, access), bound, clock)


def _over_tls(
    page: PageSection,
    names: tuple[str, ...],
    app: ASGIApp,
    doors: Doors,
    bound: _Bound,
    clock: Clock,
) -> Doors:
    """The page over TLS for phones, and over plain http for this machine itself."""
    from pullcall.api.lobby import Lobby
    from pullcall.api.trust import create_trust_app

    tls = _certificate(page, names, clock)
    lobby = Lobby(app, create_trust_app(tls, names, page.port))
    served = (
        Door(bound.main, app, tls.context()),
        *(Door(listener, lobby) for listener in bound.plain),
    )
    others = (*doors.others, tls.watch())
    doors = replace(doors, doors=served, others=others, here=f"http://127.0.0.1:{page.plain_at()}/")
    if not isinstance(tls, CertificateKeeper):
        return doors
    return replace(doors, trust=_trust_page(page), fingerprint=tls.fingerprint)


def _certificate(
    page: PageSection, names: tuple[str, ...], clock: Clock
) -> CertificateKeeper | CertificateFiles:
    if page.tls == "files":
        assert page.certificate is not None
        assert page.key is not None
        return CertificateFiles(page.certificate, page.key, clock)
    return CertificateKeeper(state_folder() / "tls", names, clock)


def _trust_page(page: PageSection) -> str:
    """Where phones are told about the certificate."""
    host = urlsplit(_links(page)[0]).hostname or ""
    return f"http://{_in_url(host)}:{page.plain_at()}/"


def _no_links() -> tuple[str, ...]:
    return ()


def _links(page: PageSection) -> tuple[str, ...]:
    """The page's addresses for phones: of every interface, or the one it is served on."""
    scheme = "http" if page.tls == "off" else "https"
    hosts = [_in_url(page.host)]
    if page.host in _WILDCARDS:
        hosts = [_in_url(str(address)) for address in own_addresses()]
    return tuple(f"{scheme}://{host}:{page.port}/" for host in (*hosts, local_name(page.name)))


def _in_url(host: str) -> str:
    return f"[{host}]" if ":" in host else host

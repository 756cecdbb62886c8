"""Where a page is served: the sockets, their certificates, and who may come in."""

from __future__ import annotations

import asyncio
import logging
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol
from urllib.parse import urlsplit

from pullcall.access.access import Access
from pullcall.access.records import WHOLE
from pullcall.access.role import Role
from pullcall.cli import invitation
from pullcall.clock import Clock
from pullcall.door import Door
from pullcall.errors import AddressInUseError, ConfigError, RefusedError
from pullcall.network.addresses import own_addresses
from pullcall.network.loopback import address_of, in_url, is_loopback
from pullcall.network.names import local_name, own_names
from pullcall.network.place import Place
from pullcall.served_section import PageSection
from pullcall.settings import state_folder
from pullcall.supervision import Edges, Part
from pullcall.tls.files import CertificateFiles
from pullcall.tls.keeper import CertificateKeeper

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.types import ASGIApp

    from pullcall.api.cook_site import CookSite
    from pullcall.api.front import Front
    from pullcall.network.announcer import Announcer

    #: What makes the application that is served; its ``state.feeds`` have to run beside it.
    Make = Callable[[Front], FastAPI]

_log = logging.getLogger(__name__)

#: Said above the lanes while phones may act without encryption.
PLAIN_WARNING = (
    "This page is not encrypted: anyone on this network can read along, and take over a phone's "
    "pairing."
)
#: To take up a cook takes seconds, in which nobody should wonder.
_TAKEN = (
    "%s port %d cannot be opened for the page: looking whether a cook goes on, whose calls do not "
    "wait for it."
)
Certificate = CertificateKeeper | CertificateFiles
_WILDCARDS = ("0.0.0.0", "::")


@dataclass(frozen=True, slots=True)
class Doors:
    """``others`` has to run beside what is served; ``here`` is its address on this machine.

    ``links()`` gives its addresses for phones; without phones it is empty. ``access``: of a site.
    ``trust`` and ``fingerprint`` are where the certificate is explained, and what to compare.
    ``trouble`` is why it is not served for now, where the calls do not wait for that.
    """

    doors: tuple[Door, ...]
    others: tuple[Part, ...]
    here: str
    links: Callable[[], tuple[str, ...]]
    trust: str | None = None
    fingerprint: str | None = None
    access: Access | None = None
    trouble: str | None = None


@dataclass(frozen=True, slots=True)
class _Places:
    """Where to listen: for the page itself, and for plain http besides."""

    main: Place
    plain: tuple[Place, ...]

    def open(self) -> None:
        """Open all of them. Raises AddressInUseError."""
        for place in (self.main, *self.plain):
            place.open()

    def close(self) -> None:
        """Let them go."""
        for place in (self.main, *self.plain):
            place.close()


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
    if doors.trouble:
        return [f"{doors.trouble} It is tried again by itself; the calls go on.", ""]
    if not doors.links():
        return ["For phones, start it with --host 0.0.0.0: they are paired by a QR or a code.", ""]
    trust = trust_lines(doors)
    if not sys.stdout.isatty():
        return ["Phones come in by the QR or the code that `pullcall pair` prints.", *trust, ""]
    try:
        invited = invitation.lines(_first_invitation(doors))
    except RefusedError as exc:
        invited = [str(exc)]
    return ["", *invited, *trust, ""]


def _first_invitation(doors: Doors) -> dict[str, Any]:
    """An invitation of a cook, as the API would answer it."""
    access = doors.access
    assert access is not None, "these are the doors of a site"
    invited = access.invite(Role.COOK, "", None, WHOLE)
    opened = access.open_code(invited.invitation.id)
    return {
        "role": Role.COOK,
        "expires_in_s": access.seconds_left(invited.invitation),
        "links": [f"{base}#k={invited.secret}" for base in doors.links()],
        "code": opened.code,
        "code_expires_in_s": opened.lasts_s,
    }


def trust_lines(doors: Doors) -> list[str]:
    """What to know of the certificate, after an empty line; nothing if it is the cook's own."""
    if doors.trust is None:
        return []
    groups = (doors.fingerprint or "").split()
    half = len(groups) // 2
    return [
        "",
        f"  Browsers warn until they trust this site's certificate: {doors.trust} tells how.",
        f"  Its fingerprint is  {' '.join(groups[:half])}",
        f"                      {' '.join(groups[half:])}",
    ]


class DoorsOf(Protocol):
    """Opens what was bound to a site."""

    def __call__(self, site: CookSite, also: Callable[[FastAPI], None] = ...) -> Doors:
        """The doors of ``site``; ``also`` adds what its application serves besides."""


@contextmanager
def open_doors(
    page: PageSection,
    pairings: Path | None,
    clock: Clock,
    *,
    calls_first: Callable[[CookSite], bool] | None = None,
) -> Iterator[DoorsOf]:
    """Open what ``page`` asks for; the result takes the site to serve.

    Phones' pairings are kept in the file ``pairings`` (None: in memory only). Raises
    AddressInUseError or ConfigError, saying what to do; but of a site whose calls come first the
    doors that cannot be opened are tried again while it runs.
    """
    with _places_of(page, is_needed=calls_first is None) as (places, refused):
        access = Access(clock, pairings)

        def of_site(site: CookSite, also: Callable[[FastAPI], None] = _nothing) -> Doors:
            from pullcall.api.app import create_app

            def make(front: Front) -> FastAPI:
                app = create_app(site, access, front)
                also(app)
                return app

            is_first = calls_first is not None and calls_first(site)
            if refused is not None and not is_first:
                raise refused
            certify = partial(_certificate, page, clock, state_folder() / "tls")
            opening = _Opening(certify, partial(_doors, page, make, places, clock))
            doors = (
                _opened_sooner_or_later(opening, page, site.edges) if is_first else opening.now()
            )
            trouble = str(refused) if refused is not None else doors.trouble
            return replace(doors, access=access, trouble=trouble)

        yield of_site


@contextmanager
def doors_around(page: PageSection, clock: Clock, tls: str) -> Iterator[Callable[[Make], Doors]]:
    """Open what ``page`` asks for; the result takes what makes the application.

    ``tls`` is the folder of its certificates, in the state folder. Raises as :func:`open_doors`.
    """
    with _places_of(page) as (places, _):
        certify = partial(_certificate, page, clock, state_folder() / tls)
        yield lambda make: _Opening(certify, partial(_doors, page, make, places, clock)).now()


@contextmanager
def _places_of(
    page: PageSection, *, is_needed: bool = True
) -> Iterator[tuple[_Places, AddressInUseError | None]]:
    """Where ``page`` is served, opened; or what keeps it from that, unless it ``is_needed``."""
    plain = tuple(Place(*at) for at in _plain_places(page))
    places = _Places(Place(page.host, page.port), plain)
    refused: AddressInUseError | None = None
    try:
        try:
            places.open()
        except AddressInUseError as exc:
            if is_needed:
                raise
            refused = exc
            _log.warning(_TAKEN, page.host, page.port)
        yield places, refused
    finally:
        places.close()


@dataclass(frozen=True, slots=True)
class _Opening:
    """``certify`` loads or makes the certificate, which reads and writes the disk; ``made`` makes
    the doors that serve with it."""

    certify: Callable[[], Certificate | None]
    made: Callable[[Certificate | None], Doors]

    def now(self) -> Doors:
        """The doors. Raises ConfigError."""
        return self.made(self.certify())

    async def serve(self, edges: Edges) -> None:
        """Make the doors beside a site that runs, which no disk may hold up, and serve them, each
        part by its own of ``edges``. Raises ConfigError."""
        doors = self.made(await asyncio.to_thread(self.certify))
        await edges.keep(*(Part(one.name, one.serve) for one in doors.doors), *doors.others)


def _opened_sooner_or_later(opening: _Opening, page: PageSection, edges: Edges) -> Doors:
    """The doors; where they cannot be made for now, a part that makes and serves them later."""
    try:
        return opening.now()
    except ConfigError as exc:
        later = Part("page", lambda: opening.serve(edges))
        return Doors((), (later,), _here(page), lambda: (), trouble=str(exc))


def _nothing(app: FastAPI) -> None:
    """An application that serves nothing besides."""


def _plain_places(page: PageSection) -> list[tuple[str, int]]:
    """Where plain http is served besides: this machine itself always has a way in."""
    if not is_open(page):
        return []
    everywhere = page.host in _WILDCARDS
    if page.tls == "off":
        return [] if everywhere else [("127.0.0.1", page.port)]
    more = [] if everywhere else [("127.0.0.1", page.plain_at())]
    return [(page.host, page.plain_at()), *more]


def _doors(
    page: PageSection, make: Make, places: _Places, clock: Clock, tls: Certificate | None
) -> Doors:
    """The application behind every socket, and what has to run for it."""
    from pullcall.api.front import Front, no_links
    from pullcall.api.trust import create_trust_app

    names = _names(page)
    certified = tls.names if isinstance(tls, CertificateFiles) else ()
    links = partial(_links, page, certified) if is_open(page) else no_links
    front = Front(frozenset((*names, *certified)), links, page.plain_control)
    app = make(front)
    doors = Doors((), (Part("late feeds", app.state.feeds.run),), _here(page), links)
    if not is_open(page):
        return replace(doors, doors=(Door(places.main, app),))
    announcement = Part("announcement", lambda: _announcer(page, clock).run())
    doors = replace(doors, others=(*doors.others, announcement))
    if tls is None:
        return replace(doors, doors=tuple(Door(one, app) for one in (places.main, *places.plain)))
    trust = create_trust_app(tls, front.names, page.port, clock.monotonic)
    return _over_tls(page, app, trust, tls, doors, places)


def _over_tls(
    page: PageSection, app: ASGIApp, trust: ASGIApp, tls: Certificate, doors: Doors, places: _Places
) -> Doors:
    """The page over TLS for phones, and over plain http for this machine itself."""
    from pullcall.api.lobby import Lobby

    lobby = Lobby(app, trust)
    plain = (Door(place, lobby) for place in places.plain)
    return replace(
        doors,
        doors=(Door(places.main, app, tls.context()), *plain),
        others=(*doors.others, Part("certificate", tls.watch)),
        trust=_trust_page(doors.links()[0], page) if tls.fingerprint else None,
        fingerprint=tls.fingerprint,
    )


def _names(page: PageSection) -> tuple[str, ...]:
    """What this machine is called, and the name that the page is served on, where it is one."""
    named = () if address_of(page.host) else (page.host,)
    return own_names(page.name, (*page.names, *named))


def _here(page: PageSection) -> str:
    """The page's address on this machine."""
    if not is_open(page):
        return f"http://{in_url(page.host)}:{page.port}/"
    return f"http://127.0.0.1:{page.port if page.tls == 'off' else page.plain_at()}/"


def _announcer(page: PageSection, clock: Clock) -> Announcer:
    from pullcall.network.announcer import Announcer

    is_secure = page.tls != "off"
    given = address_of(page.host)
    if page.host in _WILDCARDS or given is None:
        return Announcer(page.name, page.port, clock, is_secure=is_secure)
    return Announcer(page.name, page.port, clock, is_secure=is_secure, addresses=lambda: (given,))


def links_to(page: PageSection, clock: Clock) -> tuple[str, ...]:
    """The page's addresses for phones, whether or not it is served now. Raises ConfigError."""
    own = _own_certificate(page, clock) if is_open(page) and page.tls == "files" else None
    return _links(page, own.names if own else ()) if is_open(page) else ()


def _certificate(page: PageSection, clock: Clock, folder: Path) -> Certificate | None:
    if not is_open(page) or page.tls == "off":
        return None
    if page.tls == "files":
        return _own_certificate(page, clock)
    return CertificateKeeper(folder, _names(page), clock)


def _own_certificate(page: PageSection, clock: Clock) -> CertificateFiles:
    assert page.certificate is not None
    assert page.key is not None
    return CertificateFiles(page.certificate, page.key, clock)


def _trust_page(link: str, page: PageSection) -> str:
    """Where phones are told about the certificate."""
    return f"http://{in_url(urlsplit(link).hostname or '')}:{page.plain_at()}/"


def _links(page: PageSection, certified: tuple[str, ...]) -> tuple[str, ...]:
    """The page's addresses for phones: by the names of the cook's own certificate first."""
    scheme = "http" if page.tls == "off" else "https"
    hosts = [page.host]
    if page.host in _WILDCARDS:
        hosts = [str(address) for address in own_addresses()]
    known = [*(name for name in certified if "*" not in name), *hosts, local_name(page.name)]
    return tuple(f"{scheme}://{in_url(host)}:{page.port}/" for host in dict.fromkeys(known))

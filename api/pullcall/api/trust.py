"""Plain http for phones: how to trust the site's certificate, and the way to the page itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from html import escape
from string import Template
from typing import Protocol

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from pullcall.api.guard.headers import SecurityHeaders
from pullcall.api.guard.hosts import host_of
from pullcall.api.guard.rates import FileRates
from pullcall.api.pages import PAGE
from pullcall.network.addresses import Address, own_addresses
from pullcall.network.loopback import address_of, in_url, is_loopback

#: What phones and computers take for a certificate authority (common practice, no source).
_AUTHORITY_TYPE = "application/x-x509-ca-cert"
_POLICY = (
    "default-src 'self'; script-src 'none'; object-src 'none'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
#: The page is another one for another address, and after another authority was made.
_NEVER_KEPT = {"Cache-Control": "no-store"}
_EVERY_METHOD = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
#: What a browser says of itself, and the list that is opened for it; the first that fits.
_SYSTEMS = (
    ("Android", "android"),
    ("iPhone", "apple"),
    ("iPad", "apple"),
    ("Windows", "windows"),
    ("Macintosh", "mac"),
    ("Linux", "linux"),
)


class Certificate(Protocol):
    """The certificate that the page is served with; None where no authority is of this site."""

    @property
    def fingerprint(self) -> str | None:
        """SHA-256 of the authority, in groups for people."""

    @property
    def authority_der(self) -> bytes | None:
        """The authority's certificate."""


class Way:
    """Where the page is for whoever asks: at the host they asked for, if it is this machine."""

    def __init__(
        self, names: Iterable[str], port: int, addresses: Callable[[], tuple[Address, ...]]
    ) -> None:
        self._names = tuple(names)
        self._port = port
        self._addresses = addresses

    def page(self, scope: Scope) -> str:
        """The page's address, with a stroke at its end."""
        host = self._asked_for(host_of(scope)) or self._came_in_by(scope) or self._likeliest()
        return f"https://{host}:{self._port}/"

    def _asked_for(self, host: str) -> str | None:
        """Only a host of this machine: anything else would lead where somebody else says."""
        address = address_of(host)
        if address is None:
            return host if host in self._names or is_loopback(host) else None
        is_own = address in self._addresses() or address.is_loopback
        return in_url(str(address)) if is_own else None

    def _came_in_by(self, scope: Scope) -> str | None:
        server = scope.get("server")
        address = address_of(server[0]) if server else None
        # No link can be written for a link-local IPv6 address: its zone is the phone's own.
        if address is None or (address.version == 6 and address.is_link_local):
            return None
        return in_url(str(address))

    def _likeliest(self) -> str:
        addresses = self._addresses()
        return in_url(str(addresses[0])) if addresses else (*self._names, "localhost")[0]


def create_trust_app(
    certificate: Certificate,
    names: Iterable[str],
    port: int,
    now: Callable[[], float],
    addresses: Callable[[], tuple[Address, ...]] = own_addresses,
) -> Starlette:
    """Show the authority, if there is one, and lead everybody else to the page.

    ``names`` are those of this machine besides its addresses; ``port`` is the page's; ``now()``
    gives monotonic seconds.
    """
    way = Way(names, port, addresses)
    text = Template((PAGE / "trust.html").read_text(encoding="utf-8"))

    def values(request: Request) -> dict[str, str]:
        own = _system(request.headers.get("user-agent", ""))
        opened = {system: "open" if system == own else "" for _, system in _SYSTEMS}
        shown = {"fingerprint": certificate.fingerprint or "", "page": way.page(request.scope)}
        return {**opened, **{name: escape(value) for name, value in shown.items()}}

    async def page(request: Request) -> HTMLResponse:
        headers = {**_NEVER_KEPT, "Content-Security-Policy": _POLICY}
        return HTMLResponse(text.substitute(values(request)), headers=headers)

    async def authority(request: Request) -> Response:
        return Response(certificate.authority_der, 200, _NEVER_KEPT, _AUTHORITY_TYPE)

    async def elsewhere(request: Request) -> RedirectResponse:
        return RedirectResponse(way.page(request.scope), 307, _NEVER_KEPT)

    routes: list[BaseRoute] = [Route("/{path:path}", elsewhere, methods=_EVERY_METHOD)]
    if certificate.authority_der is not None:
        files = Mount("/page", StaticFiles(directory=PAGE))
        routes = [Route("/", page), Route("/authority.crt", authority), files, *routes]
    guards = [Middleware(SecurityHeaders), Middleware(FileRates, now=now)]
    return Starlette(routes=routes, middleware=guards)


def _system(browser: str) -> str | None:
    return next((system for word, system in _SYSTEMS if word in browser), None)

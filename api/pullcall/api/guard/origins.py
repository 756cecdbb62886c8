"""Only this site's own page may act: other pages in the same browser carry the same cookie."""

from __future__ import annotations

from http import HTTPStatus

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from pullcall.api.guard.files import is_for_a_file
from pullcall.api.guard.hosts import host_of
from pullcall.api.guard.refusal import refuse
from pullcall.network.loopback import is_loopback

_ASKS_ONLY = frozenset({"GET", "HEAD", "OPTIONS"})
#: What browsers say of a request that no other page caused; older ones say nothing.
_NO_OTHER = (None, "none", "same-origin")
_SECURE = ("https", "wss")


class Origins:
    """Refuses what another page sends: websockets, and requests of the API.

    Also those that only ask: an image elsewhere whose address is a backup's would have this
    machine's own browser, which needs no cookie, make one after the other. Browsers say where a
    request comes from; programs that are no browser say nothing and carry nobody's cookie by
    mistake. The page itself may be led to from anywhere.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket") or _is_own(scope):
            await self._app(scope, receive, send)
            return
        detail = "Another page sent this: open Pullcall's own page and tap there."
        await refuse(scope, receive, send, HTTPStatus.FORBIDDEN, detail)


def is_encrypted(scope: Scope) -> bool:
    """Whether the page came over TLS: to us, or to a load balancer before us that ends it.

    Then the page's origin says so. Nobody else can serve a page over TLS at this host and port.
    Who merely asks names no origin: but browsers say where a request comes from over TLS only, and
    on their own machine (W3C, Fetch Metadata Request Headers, section 2, from memory).
    """
    if scope["scheme"] in _SECURE:
        return True
    origin = _origin(scope)
    if origin is None:
        return _fetch_site(scope) is not None and not is_loopback(host_of(scope))
    return origin == f"https://{_host(scope)}"


def _is_own(scope: Scope) -> bool:
    site = _fetch_site(scope)
    origin = _origin(scope)
    if origin is None:
        return site in _NO_OTHER or (_only_asks(scope) and is_for_a_file(scope))
    scheme = "https" if is_encrypted(scope) else "http"
    return origin == f"{scheme}://{_host(scope)}" or (_only_asks(scope) and site == "same-origin")


def _fetch_site(scope: Scope) -> str | None:
    return Headers(scope=scope).get("sec-fetch-site")


def _origin(scope: Scope) -> str | None:
    origin = Headers(scope=scope).get("origin")
    return None if origin is None else origin.lower()


def _host(scope: Scope) -> str:
    return Headers(scope=scope).get("host", "").lower()


def _only_asks(scope: Scope) -> bool:
    return scope["type"] == "http" and scope["method"] in _ASKS_ONLY

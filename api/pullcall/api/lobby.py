"""What plain http serves where the page itself goes over TLS."""

from __future__ import annotations

from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Receive, Scope, Send

from pullcall.api.visitor import is_here


class Lobby:
    """The page for this machine itself; for everybody else, how to come in over TLS."""

    def __init__(self, page: ASGIApp, others: ASGIApp) -> None:
        self._page = page
        self._others = others

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        app = self._page if is_here(HTTPConnection(scope)) else self._others
        await app(scope, receive, send)

"""Only this site's own page may act: other pages in the same browser carry the same cookie."""

from __future__ import annotations

from http import HTTPStatus

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from pullcall.api.guard.refusal import refuse

_ASKS_ONLY = frozenset({"GET", "HEAD", "OPTIONS"})
_PLAIN = {"ws": "http", "wss": "https"}


class Origins:
    """Refuses what another page's script sends: websockets, and requests that change something.

    Browsers say where such a request comes from; programs that are no browser say nothing and
    carry nobody's cookie by mistake.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket") or _is_own(scope):
            await self._app(scope, receive, send)
            return
        detail = "Another page sent this: open Pullcall's own page and tap there."
        await refuse(scope, receive, send, HTTPStatus.FORBIDDEN, detail)


def _is_own(scope: Scope) -> bool:
    headers = Headers(scope=scope)
    origin = headers.get("origin")
    if origin is None:
        return _only_asks(scope) or headers.get("sec-fetch-site", "none") in ("none", "same-origin")
    scheme = _PLAIN.get(scope["scheme"], scope["scheme"])
    return origin.lower() == f"{scheme}://{headers.get('host', '')}".lower() or (
        _only_asks(scope) and headers.get("sec-fetch-site") == "same-origin"
    )


def _only_asks(scope: Scope) -> bool:
    return scope["type"] == "http" and scope["method"] in _ASKS_ONLY

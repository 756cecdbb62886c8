"""What every answer tells the browser to allow and to keep."""

from __future__ import annotations

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pullcall.api.guard.hosts import authority_of

_ALWAYS = {
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"no-referrer",
    b"cross-origin-opener-policy": b"same-origin",
    b"cross-origin-resource-policy": b"same-origin",
    b"permissions-policy": b"camera=(), microphone=(), geolocation=(), payment=()",
}
#: No Strict-Transport-Security: browsers ignore it for addresses, and a name may be another
#: machine's on the next network.
_POLICY = (
    "default-src 'self'; connect-src 'self' ws://{host} wss://{host}; object-src 'none'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


class SecurityHeaders:
    """Adds the headers to every HTTP answer; what the API answers is never kept."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = _headers_for(scope)

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {name for name, _ in message.get("headers", [])}
                added = [one for one in headers.items() if one[0] not in own]
                message["headers"] = [*message.get("headers", []), *added]
            await send(message)

        await self._app(scope, receive, send_with_headers)


def _headers_for(scope: Scope) -> dict[bytes, bytes]:
    # Older browsers take 'self' for http only: the websocket's own address is named too. Where the
    # host is not one of this machine's (see hosts.py), the answer is a refusal without a script.
    policy = _POLICY.format(host=authority_of(scope))
    headers = _ALWAYS | {b"content-security-policy": policy.encode("latin-1")}
    if "/api/" in scope["path"]:
        headers[b"cache-control"] = b"no-store"
    return headers

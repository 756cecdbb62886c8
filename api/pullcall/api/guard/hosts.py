"""Only requests for this machine's own names: a foreign name that leads here is a trick."""

from __future__ import annotations

import re
from http import HTTPStatus

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from pullcall.api.guard.refusal import refuse
from pullcall.network.loopback import address_of, is_loopback

_DETAIL = (
    "Nothing is served under this name here: open the address that `pullcall {what}` prints, or "
    "add the name to [{section}] names."
)
_SECTIONS = {"serve": "page", "board": "board"}
#: An address in brackets, or an IPv4 address or a name (RFC 9110, 7.2; none has other letters).
_HOST = re.compile(r"(?:\[(?P<six>[\w:.%-]+)\]|(?P<name>[\w.-]+))(?::\d{1,5})?", re.ASCII)


def authority_of(scope: Scope) -> str:
    """The host a request names, with its port, as it stands there; empty for what is none.

    It goes into the policy that answers carry: anything else could be written beside it.
    """
    text = Headers(scope=scope).get("host", "")
    return text if _HOST.fullmatch(text) else ""


def host_of(scope: Scope) -> str:
    """The host a request names, without its port, in lower case; empty if it names none."""
    found = _HOST.fullmatch(authority_of(scope))
    return "" if found is None else (found["six"] or found["name"]).lower()


class Hosts:
    """Lets a request pass that asks for ``names``, or for the address that it came in by.

    The second follows the machine's interfaces by itself. It stops a page elsewhere from reaching
    this site under a name of its own (DNS rebinding).
    """

    def __init__(self, app: ASGIApp, names: frozenset[str], what: str = "serve") -> None:
        """``what`` is the command that serves this."""
        self._app = app
        self._names = names
        self._detail = _DETAIL.format(what=what, section=_SECTIONS[what])

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket") or self._is_ours(scope):
            await self._app(scope, receive, send)
            return
        await refuse(scope, receive, send, HTTPStatus.MISDIRECTED_REQUEST, self._detail)

    def _is_ours(self, scope: Scope) -> bool:
        host = host_of(scope)
        came_in_by = (scope.get("server") or ("",))[0]
        if host in self._names or (is_loopback(host) and is_loopback(came_in_by)):
            return True
        address = address_of(host)
        return address is not None and address == address_of(came_in_by)

"""Which right each request needs: one table. What is not in it, nobody may do."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from types import MappingProxyType
from typing import Annotated

from fastapi import Depends, HTTPException
from fastapi.requests import HTTPConnection

from pullcall.access.role import Right
from pullcall.api.front import Front
from pullcall.api.visitor import Visitor, visitor_of

PREFIX = "/api/v1"
#: Requests that anybody on the network may make.
OPEN = frozenset({("GET", "/visitor"), ("POST", "/pairings")})
NEEDED: Mapping[tuple[str, str], Right] = MappingProxyType(
    {
        ("GET", "/snapshot"): Right.READ,
        ("GET", "/events"): Right.READ,
        ("WEBSOCKET", "/stream"): Right.READ,
        ("POST", "/tickets"): Right.READ,
        ("DELETE", "/pairings/me"): Right.READ,
        ("POST", "/marks"): Right.ACT,
        ("DELETE", "/marks/{id}"): Right.ACT,
        ("POST", "/spots"): Right.ACT,
        ("DELETE", "/spots/{id}"): Right.ACT,
        ("POST", "/acknowledgements"): Right.ACT,
        ("POST", "/shelvings"): Right.ACT,
        ("POST", "/proposals"): Right.ACT,
        ("POST", "/phones"): Right.ACT,
        ("POST", "/receipts"): Right.ACT,
        ("GET", "/clips/{id}"): Right.ACT,
        ("GET", "/probes"): Right.ACT,
        ("GET", "/cooks"): Right.ACT,
        ("GET", "/cooks/{id}"): Right.ACT,
        ("GET", "/cooks/{id}/recording"): Right.ACT,
        ("GET", "/cooks/{id}/report"): Right.ACT,
        ("GET", "/comparison"): Right.ACT,
        ("GET", "/comparison/chart"): Right.ACT,
        ("GET", "/logbook/{kind}"): Right.ACT,
        ("GET", "/learned"): Right.ACT,
        ("POST", "/cooks"): Right.RULE,
        ("PATCH", "/cooks/{id}"): Right.RULE,
        ("DELETE", "/cooks/{id}"): Right.RULE,
        ("PUT", "/learned/{name}"): Right.RULE,
        ("GET", "/backup"): Right.RULE,
        ("POST", "/restore"): Right.RULE,
        ("POST", "/import"): Right.RULE,
        ("PATCH", "/cook"): Right.RULE,
        ("PATCH", "/steaks/{name}"): Right.RULE,
        ("GET", "/pairings"): Right.RULE,
        ("DELETE", "/pairings/{id}"): Right.RULE,
        ("GET", "/invitations"): Right.RULE,
        ("POST", "/invitations"): Right.RULE,
        ("DELETE", "/invitations/{id}"): Right.RULE,
    }
)
#: What a board has besides.
ON_BOARD: Mapping[tuple[str, str], Right] = MappingProxyType(
    {("GET", "/sites"): Right.READ, ("GET", "/sites/{site}"): Right.READ}
)
_TOO_FEW = {
    Right.ACT: "This phone can only watch: ask the cook for an invitation as a hand.",
    Right.RULE: "Only a cook's phone can do this: ask the cook, or pair this phone as one.",
}


def needed(method: str, path: str) -> Right | None:
    """The right that a route needs; None if it is open to all. Raises KeyError for no route."""
    key = method, path.removeprefix(PREFIX)
    if key in OPEN:
        return None
    return ON_BOARD[key] if key in ON_BOARD else NEEDED[key]


async def require_right(connection: HTTPConnection) -> Visitor:
    """Who asks, if they may. Raises HTTPException 401 or 403, saying what to do."""
    visitor = visitor_of(connection)
    scope = connection.scope
    right = needed(scope.get("method", "WEBSOCKET"), scope["route"].path)
    # A websocket is let in by its ticket, see routes/stream.py.
    if right is None or right in visitor.rights or scope["type"] == "websocket":
        return visitor
    if visitor.role is None:
        front: Front = connection.app.state.front
        raise HTTPException(HTTPStatus.UNAUTHORIZED, front.way_in)
    raise HTTPException(HTTPStatus.FORBIDDEN, visitor.note or _TOO_FEW[right])


#: The visitor whose right was checked, for routes that ask who it is; looked up once a request.
VisitorHere = Annotated[Visitor, Depends(require_right)]

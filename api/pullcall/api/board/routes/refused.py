"""What a site has and a board has not: refused with a sentence, whoever asks."""

from __future__ import annotations

from http import HTTPStatus

from fastapi import APIRouter, HTTPException, Request

from pullcall.api.front import Front
from pullcall.api.visitor import visitor_of

router = APIRouter(include_in_schema=False)

_METHODS = ["GET", "POST", "PUT", "PATCH", "DELETE"]
_LOOKS_ONLY = (
    "A board only shows: to mark, answer calls, change settings or read the logbook, open the "
    "site's own page."
)


@router.api_route("/{rest:path}", methods=_METHODS)
async def refuse(request: Request) -> None:
    """Refuse. Raises HTTPException 401 or 403."""
    if visitor_of(request).role is None:
        front: Front = request.app.state.front
        raise HTTPException(HTTPStatus.UNAUTHORIZED, front.way_in)
    raise HTTPException(HTTPStatus.FORBIDDEN, _LOOKS_ONLY)

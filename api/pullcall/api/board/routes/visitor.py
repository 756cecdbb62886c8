"""Who asks, and letting a phone in by a link."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.requests import HTTPConnection

from pullcall.api.board.admission import BoardAdmission
from pullcall.api.board.models import BoardVisitorAnswer, PassBody, SiteName
from pullcall.api.board.shown_board import BoardHere, ShownBoard
from pullcall.api.guard.rights import VisitorHere
from pullcall.api.routes import tickets
from pullcall.api.routes.visitor import answer
from pullcall.api.token_cookie import give_token, take_token
from pullcall.api.visitor import Visitor, paired

router = APIRouter()
router.include_router(tickets.router)


@router.get("/visitor")
async def visitor(visitor: VisitorHere, request: Request, board: BoardHere) -> BoardVisitorAnswer:
    """Who this phone is to the board, and what it may see."""
    return _answer(visitor, request, board)


@router.post("/pairings", status_code=201)
async def let_in(
    body: PassBody, request: Request, response: Response, board: BoardHere, _: VisitorHere
) -> BoardVisitorAnswer:
    """Let this phone in by the secret of a link; what it came in by before is forgotten."""
    admission = _admission(request)
    own, token = admission.claim(body.secret)
    give_token(request, response, admission.cookie, token, admission.seconds_left(own))
    return _answer(paired(request, own), request, board)


@router.delete("/pairings/me", status_code=204)
async def forget_me(request: Request, _: VisitorHere) -> Response:
    """The phone that asks forgets its pass; nobody else holds it."""
    forgotten = Response(status_code=204)
    take_token(request, forgotten, _admission(request).cookie)
    return forgotten


def _answer(visitor: Visitor, connection: HTTPConnection, board: ShownBoard) -> BoardVisitorAnswer:
    known = answer(visitor, _admission(connection))
    return BoardVisitorAnswer(**known.model_dump(), site=_site(visitor, connection, board))


def _site(visitor: Visitor, connection: HTTPConnection, board: ShownBoard) -> SiteName | None:
    """Strangers are not told which sites there are."""
    only = _admission(connection).only_site(visitor)
    id = connection.path_params.get("site", only)
    if visitor.role is None or id is None or only not in (None, id):
        return None
    site = board.site(id)
    return None if site is None else SiteName(id=id, name=site.name)


def _admission(connection: HTTPConnection) -> BoardAdmission:
    admission: BoardAdmission = connection.app.state.access
    return admission

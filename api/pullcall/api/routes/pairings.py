"""Paired phones: pairing one, who they are, and ending it."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from pullcall.access.records import Claimed
from pullcall.access.role import RIGHTS
from pullcall.api.access_here import AccessHere
from pullcall.api.access_models import PairingAnswer, PairingBody, VisitorAnswer
from pullcall.api.guard.rights import VisitorHere
from pullcall.api.routes import tickets, visitor
from pullcall.api.token_cookie import give_token, take_token
from pullcall.api.visitor import paired
from pullcall.errors import RefusedError

router = APIRouter(tags=["pairing"])

_LESS = "This phone is a {role}'s and stays it: to make it a {other}'s, let it be forgotten first."


@router.post("/pairings", status_code=201)
async def pair(
    body: PairingBody,
    request: Request,
    response: Response,
    access: AccessHere,
    before: VisitorHere,
) -> VisitorAnswer:
    """Pair this phone by the secret of a link, or by a code; what it was paired as before ends."""
    claimed = _claim(body, access)
    if before.role is not None and RIGHTS[claimed.pairing.role] < RIGHTS[before.role]:
        access.revoke(claimed.pairing.id)
        await access.saved()
        raise RefusedError(_LESS.format(role=before.role, other=claimed.pairing.role))
    if before.pairing is not None:
        access.revoke(before.pairing)
    await access.saved()
    give_token(
        request, response, access.cookie, claimed.token, access.seconds_left(claimed.pairing)
    )
    return visitor.answer(paired(request, claimed.pairing), access)


@router.get("/pairings")
async def pairings(access: AccessHere, visitor: VisitorHere) -> list[PairingAnswer]:
    """Every paired phone."""
    return [
        PairingAnswer(
            id=pairing.id,
            name=pairing.name,
            role=pairing.role,
            paired=pairing.paired,
            is_me=pairing.id == visitor.pairing,
            is_here=access.is_here(pairing.id),
            invitation=pairing.invitation,
        )
        for pairing in access.pairings()
    ]


@router.delete("/pairings/me", status_code=204)
async def forget_me(request: Request, access: AccessHere, visitor: VisitorHere) -> Response:
    """Forget the phone that asks."""
    if visitor.pairing is not None:
        access.revoke(visitor.pairing)
        await access.saved()
    answer = Response(status_code=204)
    take_token(request, answer, access.cookie)
    return answer


@router.delete("/pairings/{id}", status_code=204)
async def revoke(id: str, access: AccessHere) -> Response:
    """Revoke a phone; its streams end at once."""
    access.revoke(id)
    await access.saved()
    return Response(status_code=204)


router.include_router(tickets.router)


def _claim(body: PairingBody, access: AccessHere) -> Claimed:
    if body.code is not None:
        return access.claim_code(body.code, body.name)
    return access.claim_secret(body.secret or "", body.name)

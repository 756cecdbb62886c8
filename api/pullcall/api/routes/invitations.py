"""Invitations: links, QRs and codes by which phones are paired."""

from __future__ import annotations

from dataclasses import asdict

import segno
from fastapi import APIRouter, Request, Response

from pullcall.access.records import Invitation, Sight
from pullcall.api.access_here import AccessHere
from pullcall.api.access_models import InvitationAnswer, InvitationBody, InvitedAnswer
from pullcall.api.front import Front
from pullcall.api.sight.feeds import Feeds
from pullcall.api.visitor import is_here
from pullcall.errors import RefusedError

router = APIRouter(tags=["pairing"])

_NO_PHONES = "This site serves this machine only: start it with --host 0.0.0.0 to let phones in."


@router.get("/invitations")
async def invitations(access: AccessHere) -> list[InvitationAnswer]:
    """Every invitation that is still good."""
    return [_listed(invitation, access) for invitation in access.invitations()]


@router.post("/invitations", status_code=201)
async def invite(body: InvitationBody, request: Request, access: AccessHere) -> InvitedAnswer:
    """Make an invitation; its secret is told this once."""
    bases = _bases(request)
    sight = Sight(float(body.delay_s), body.hides_targets)
    invited = access.invite(body.role, body.label, body.lasts_s, sight)
    feeds: Feeds = request.app.state.feeds
    feeds.of(sight)  # a late feed has to begin before anybody can be shown it
    opened = access.open_code(invited.invitation.id)
    await access.saved()
    links = [f"{base}#k={invited.secret}" for base in bases]
    return InvitedAnswer(
        **_listed(invited.invitation, access).model_dump(),
        links=links,
        code=opened.code,
        code_expires_in_s=opened.lasts_s,
        qr=modules(links[0]),
    )


@router.delete("/invitations/{id}", status_code=204)
async def revoke(id: str, access: AccessHere) -> Response:
    """Revoke an invitation, with every phone that was paired by it."""
    access.revoke_invitation(id)
    await access.saved()
    return Response(status_code=204)


def modules(link: str) -> list[str]:
    """The rows of a link's QR: "1" is a dark module."""
    return ["".join("1" if dark else "0" for dark in row) for row in segno.make_qr(link).matrix]


def _bases(request: Request) -> list[str]:
    """The page's addresses: first the one this request came to, unless only this machine has it.

    Raises RefusedError where no phone could reach any.
    """
    front: Front = request.app.state.front
    own = str(request.base_url)
    known = list(front.links())
    if not known:
        raise RefusedError(_NO_PHONES)
    if not is_here(request):
        return [own, *(base for base in known if base != own)]
    return known


def _listed(invitation: Invitation, access: AccessHere) -> InvitationAnswer:
    return InvitationAnswer(
        id=invitation.id,
        role=invitation.role,
        label=invitation.label,
        expires_in_s=round(access.seconds_left(invitation), 1),
        phones=sum(pairing.invitation == invitation.id for pairing in access.pairings()),
        uses_left=invitation.uses_left,
        **asdict(invitation.sight),
    )

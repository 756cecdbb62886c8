"""Marks that the readings suggest: the cook says whether it is so."""

from __future__ import annotations

import secrets

from fastapi import APIRouter, Response

from pullcall.api.cook_site import SiteHere
from pullcall.api.models import AnswerBody
from pullcall.core.checks import proposed
from pullcall.core.cook import proposed_mark
from pullcall.events import Undo

router = APIRouter(tags=["proposals"])


@router.post("/proposals", status_code=204)
async def answer(body: AnswerBody, site: SiteHere) -> Response:
    """Make a proposed mark, dated back to when it happened, or dismiss it."""
    proposal = proposed(body.proposal, site.cook.proposals())
    if body.is_so:
        await site.take(lambda t: proposed_mark(proposal, secrets.token_hex(4), t))
    else:
        await site.take(lambda t: Undo(t, proposal.id))
    return Response(status_code=204)

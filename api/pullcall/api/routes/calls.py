"""Answers to calls."""

from __future__ import annotations

from dataclasses import asdict

from fastapi import APIRouter

from pullcall.api.cook_site import SiteHere
from pullcall.api.guard.rights import VisitorHere
from pullcall.api.models import (
    AcknowledgementAnswer,
    AcknowledgementBody,
    ShelvingAnswer,
    ShelvingBody,
)
from pullcall.events import Acknowledgement, Shelving

router = APIRouter(tags=["calls"])


@router.post("/acknowledgements", status_code=201)
async def acknowledge(
    body: AcknowledgementBody, site: SiteHere, visitor: VisitorHere
) -> AcknowledgementAnswer:
    """Answer a call or alarm; answering twice does no harm."""
    by = visitor.by(body.by)
    taken = await site.take(lambda t: Acknowledgement(t, body.call, by))
    return AcknowledgementAnswer.model_validate(asdict(taken))


@router.post("/shelvings", status_code=201)
async def shelve(body: ShelvingBody, site: SiteHere, visitor: VisitorHere) -> ShelvingAnswer:
    """Put an alarm aside for a while; one to act on in seconds cannot be."""
    by = visitor.by(body.by)
    taken = await site.take(lambda t: Shelving(t, body.call, by, body.for_s))
    return ShelvingAnswer.model_validate(asdict(taken))

"""Answers to calls."""

from __future__ import annotations

from dataclasses import asdict

from fastapi import APIRouter

from pullcall.api.cook_site import SiteHere
from pullcall.api.models import AcknowledgementAnswer, AcknowledgementBody
from pullcall.events import Acknowledgement

router = APIRouter(tags=["calls"])


@router.post("/acknowledgements", status_code=201)
async def acknowledge(body: AcknowledgementBody, site: SiteHere) -> AcknowledgementAnswer:
    """Answer a call or alarm; answering twice does no harm."""
    taken = await site.take(lambda t: Acknowledgement(t, body.call, body.by))
    return AcknowledgementAnswer.model_validate(asdict(taken))

"""Marks and spots: what the cook did and measured, each with undo."""

from __future__ import annotations

import secrets
from dataclasses import asdict

from fastapi import APIRouter, Response

from pullcall.api.cook_site import SiteHere
from pullcall.api.models import MarkAnswer, MarkBody, SpotAnswer, SpotBody
from pullcall.events import Mark, Spot, Undo

router = APIRouter(tags=["marks"])


@router.post("/marks", status_code=201)
async def mark(body: MarkBody, site: SiteHere) -> MarkAnswer:
    """Mark something the cook did, now or some seconds ago."""
    id = secrets.token_hex(4)

    def make(t: float) -> Mark:
        at = round(t - body.ago_s, 3) if body.ago_s else None
        return Mark(t, body.steak, body.mark, id, at)

    return MarkAnswer.model_validate(asdict(await site.take(make)))


@router.post("/spots", status_code=201)
async def spot(body: SpotBody, site: SiteHere) -> SpotAnswer:
    """Enter a hand-held reading of a steak's centre."""
    id = secrets.token_hex(4)
    taken = await site.take(lambda t: Spot(t, body.steak, round(body.celsius, 2), id))
    return SpotAnswer.model_validate(asdict(taken))


@router.delete("/marks/{id}", status_code=204)
async def undo_mark(id: str, site: SiteHere) -> Response:
    """Take a mark back; everything is worked out again without it."""
    await site.take(lambda t: Undo(t, id))
    return Response(status_code=204)


@router.delete("/spots/{id}", status_code=204)
async def undo_spot(id: str, site: SiteHere) -> Response:
    """Take a spot back."""
    await site.take(lambda t: Undo(t, id))
    return Response(status_code=204)

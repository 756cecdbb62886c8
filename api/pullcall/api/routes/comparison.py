"""Two to six cooks side by side."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

from fastapi import APIRouter, Query, Response

from pullcall.api.archive_here import ReviewHere
from pullcall.api.logbook_models import ComparedAnswer, Unit
from pullcall.api.policy import DRAWING_POLICY

router = APIRouter(tags=["logbook"])
Cooks = Annotated[list[str], Query(alias="cook", min_length=2, max_length=6)]
_SVG = "image/svg+xml"


@router.get("/comparison")
async def comparison(cooks: Cooks, review: ReviewHere, unit: Unit = "F") -> ComparedAnswer:
    """What was the same and what was not."""
    return ComparedAnswer.model_validate(asdict(await review.comparison(cooks, unit)))


@router.get("/comparison/chart", response_class=Response, responses={200: {"content": {_SVG: {}}}})
async def chart(cooks: Cooks, review: ReviewHere, unit: Unit = "F") -> Response:
    """The cores of all, aligned where each steak went on."""
    drawing = await review.chart(cooks, unit)
    return Response(drawing, media_type=_SVG, headers=DRAWING_POLICY)

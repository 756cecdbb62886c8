"""What the cooks taught, and what is taken from it."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from pullcall.api.archive_here import ReviewHere
from pullcall.api.logbook_models import ChoiceBody, LearnedAnswer, Unit

router = APIRouter(tags=["learned"])


@router.get("/learned")
async def learned(review: ReviewHere, unit: Unit = "F") -> LearnedAnswer:
    """Every lesson with its evidence, and how good the forecast has been."""
    return _answer(await review.learned(unit))


@router.put("/learned/{name}")
async def choose(
    name: str, body: ChoiceBody, review: ReviewHere, unit: Unit = "F"
) -> LearnedAnswer:
    """Choose which figure of a lesson counts from the next cook on."""
    await review.choose(name, body.mode, body.value)
    return _answer(await review.learned(unit))


def _answer(found: dict[str, Any]) -> LearnedAnswer:
    return LearnedAnswer.model_validate(found)

"""Who asks."""

from __future__ import annotations

from fastapi import APIRouter

from pullcall.access.role import Right
from pullcall.api.access_here import AdmissionHere
from pullcall.api.access_models import VisitorAnswer
from pullcall.api.admission import Admission
from pullcall.api.guard.rights import VisitorHere
from pullcall.api.visitor import Visitor

router = APIRouter(tags=["pairing"])


@router.get("/visitor")
async def visitor(visitor: VisitorHere, access: AdmissionHere) -> VisitorAnswer:
    """Who this phone is to the site, and what it may do."""
    return answer(visitor, access)


def answer(visitor: Visitor, access: Admission) -> VisitorAnswer:
    """A visitor as pages know them; who decides is told if pairings cannot be kept."""
    trouble = access.trouble if Right.RULE in visitor.rights else None
    return VisitorAnswer(
        role=visitor.role,
        name=visitor.name,
        rights=sorted(visitor.rights),
        delay_s=visitor.sight.delay_s,
        hides_targets=visitor.sight.hides_targets,
        here=visitor.here,
        note=visitor.note or trouble,
    )

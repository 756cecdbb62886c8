"""Tickets, which open streams."""

from __future__ import annotations

from fastapi import APIRouter

from pullcall.api.access_here import AdmissionHere
from pullcall.api.access_models import TicketAnswer
from pullcall.api.guard.rights import VisitorHere

router = APIRouter()


@router.post("/tickets", status_code=201)
async def ticket(admission: AdmissionHere, visitor: VisitorHere) -> TicketAnswer:
    """A ticket that opens one stream; this machine's own browser needs none."""
    return TicketAnswer(ticket=admission.ticket(visitor.pairing) if visitor.pairing else "")

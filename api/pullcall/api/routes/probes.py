"""The probes that are heard."""

from __future__ import annotations

from fastapi import APIRouter

from pullcall.api.cook_site import SiteHere
from pullcall.api.models import ProbesAnswer

router = APIRouter(tags=["probes"])


@router.get("/probes")
async def probes(site: SiteHere) -> ProbesAnswer:
    """Every probe heard, with the steak it is assigned to, and the adapter."""
    return ProbesAnswer.model_validate(site.probes())

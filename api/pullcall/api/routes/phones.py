"""The phones that sound calls, and their receipts."""

from __future__ import annotations

from fastapi import APIRouter, Response

from pullcall.api.cook_site import SiteHere
from pullcall.api.models import PhoneBody, ReceiptBody

router = APIRouter(tags=["phones"])


@router.post("/phones", status_code=204)
async def seen(body: PhoneBody, site: SiteHere) -> Response:
    """A page is here, and can sound calls or not; told every five seconds and at every change."""
    site.phone_seen(body.phone, body.armed)
    return Response(status_code=204)


@router.post("/receipts", status_code=204)
async def receipt(body: ReceiptBody, site: SiteHere) -> Response:
    """A page sounded a call."""
    site.receipt(body.phone, body.call)
    return Response(status_code=204)

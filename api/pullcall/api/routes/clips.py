"""The words of calls in the site's own voice."""

from __future__ import annotations

from fastapi import APIRouter, Response

from pullcall.api.cook_site import SiteHere

router = APIRouter(tags=["clips"])

_WAV = "audio/wav"
#: An id stands for the same words for ever, so a phone need not ask twice.
_KEEP = {"Cache-Control": "private, max-age=3600, immutable"}


@router.get("/clips/{id}", response_class=Response, responses={200: {"content": {_WAV: {}}}})
async def clip(id: str, site: SiteHere) -> Response:
    """The words of a call that was announced or is scheduled, as a WAV file."""
    return Response(await site.clip(id), media_type=_WAV, headers=_KEEP)

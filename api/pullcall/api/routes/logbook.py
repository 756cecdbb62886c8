"""The cooks that were: the list, one of them with what was written about it, and its report."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Query, Response

from pullcall.api.archive_here import ArchiveHere, ReviewHere
from pullcall.api.cook_site import SiteHere
from pullcall.api.logbook_models import CookAnswer, NotesBody, Unit
from pullcall.api.policy import report_policy

router = APIRouter(tags=["logbook"])
Words = Annotated[str, Query(max_length=200)]
_HTML, _RECORDING = "text/html", "application/x-ndjson"


@router.get("/cooks")
async def cooks(archive: ArchiveHere, words: Words = "") -> list[dict[str, Any]]:
    """Every logged cook in which all ``words`` are found, the latest last."""
    return [asdict(row) for row in await archive.rows(words)]


@router.get("/cooks/{id}")
async def cook(id: str, archive: ArchiveHere) -> CookAnswer:
    """One cook; while its facts are being worked out they are null."""
    return CookAnswer.model_validate(await archive.cook(id))


@router.patch("/cooks/{id}")
async def write(id: str, body: NotesBody, archive: ArchiveHere) -> CookAnswer:
    """Write in the logbook: all of it, or nothing where one note cannot be."""
    await archive.note(id, [(n.steak, n.name, n.note_value()) for n in body.notes])
    return CookAnswer.model_validate(await archive.cook(id))


@router.delete("/cooks/{id}", status_code=204)
async def delete(id: str, archive: ArchiveHere) -> None:
    """Delete a cook for good; never the one that runs."""
    await archive.delete(id)


@router.get(
    "/cooks/{id}/recording",
    response_class=Response,
    responses={200: {"content": {_RECORDING: {}}}},
)
async def recording(id: str, site: SiteHere) -> Response:
    """Every message that a page was shown during the cook, to be played."""
    headers = {"Content-Encoding": "gzip"}
    return Response(await site.recording(id), media_type=_RECORDING, headers=headers)


@router.get(
    "/cooks/{id}/report", response_class=Response, responses={200: {"content": {_HTML: {}}}}
)
async def report(id: str, review: ReviewHere, unit: Unit = "F") -> Response:
    """The cook on one sheet."""
    sheet = await review.report(id, unit)
    return Response(sheet, media_type=_HTML, headers=report_policy())

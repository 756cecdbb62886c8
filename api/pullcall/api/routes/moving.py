"""All of it out as one file or one table, and in again."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import asdict
from enum import StrEnum
from functools import partial
from http import HTTPStatus
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request, Response
from fastapi.responses import FileResponse
from starlette.background import BackgroundTask

from pullcall.api.archive_here import ArchiveHere, ReviewHere
from pullcall.api.logbook_models import ImportedAnswer, RestoredAnswer, Unit
from pullcall.api.upload import require_room, uploaded
from pullcall.clock import RealClock
from pullcall.errors import LogFormatError
from pullcall.log.cook_file import CookFile, read_cook_file
from pullcall.log.csv_cook import Told, decode_csv, read_csv
from pullcall.log.csv_told import told_of
from pullcall.site.archive import read

router = APIRouter(tags=["moving"])

#: A logbook of many years, and a cook of many hours, bytes.
_MOST_BACKUP, _MOST_COOK = 2 * 1024**3, 64 * 1024**2
_SQLITE = "application/vnd.sqlite3"
_FILE = {"requestBody": {"content": {"application/octet-stream": {}}, "required": True}}
Text = Annotated[str | None, Query(max_length=400)]
Marks = Annotated[tuple[str, ...], Query(max_length=6)]


class Kind(StrEnum):
    """The tables of the logbook."""

    CSV = "csv"
    JSONL = "jsonl"
    PARQUET = "parquet"
    SCHEMA = "schema"


_TYPES = {
    Kind.CSV: ("text/csv; charset=utf-8", "logbook.csv"),
    Kind.JSONL: ("application/x-ndjson", "logbook.jsonl"),
    Kind.PARQUET: ("application/vnd.apache.parquet", "logbook.parquet"),
    Kind.SCHEMA: ("application/json", "logbook.schema.json"),
}


@router.get("/logbook/{kind}", response_class=Response)
async def table(kind: Kind, review: ReviewHere) -> Response:
    """The logbook as a table, a line for each steak."""
    type, name = _TYPES[kind]
    return Response(await review.table(str(kind)), media_type=type, headers=_named(name))


@router.get("/backup", response_class=FileResponse, responses={200: {"content": {_SQLITE: {}}}})
async def backup(archive: ArchiveHere) -> FileResponse:
    """Everything as one file, also while something cooks."""
    await read(lambda: require_room(archive.scratch.folder, archive.size()))
    path, name = await archive.backup()
    gone = BackgroundTask(archive.scratch.remove, path.parent)
    return FileResponse(path, media_type=_SQLITE, headers=_named(name), background=gone)


@router.post("/restore", openapi_extra=_FILE)
async def restore(request: Request, archive: ArchiveHere) -> RestoredAnswer:
    """Bring in every cook of a backup that is not here; nothing is overwritten."""
    async with uploaded(request, _MOST_BACKUP, archive.scratch) as path, _judged():
        return RestoredAnswer.model_validate(asdict(await archive.restore(path)))


@router.post("/import", openapi_extra=_FILE)
async def bring_in(
    request: Request,
    archive: ArchiveHere,
    name: Annotated[str, Query(min_length=1, max_length=200)],
    columns: Text = None,
    unit: Unit | None = None,
    on: Marks = (),
    flip: Marks = (),
    off: Marks = (),
) -> ImportedAnswer:
    """Bring in a cook file, or CSV with its columns named."""
    marks = {"on": on, "flip": flip, "off": off}
    async with _judged():
        told = None if columns is None else told_of(columns, unit, marks, sign=":")
    async with uploaded(request, _MOST_COOK, archive.scratch) as path, _judged():
        found = await archive.bring_in(partial(_cook, path, name, told))
    return ImportedAnswer.model_validate(asdict(found))


@asynccontextmanager
async def _judged() -> AsyncIterator[None]:
    """A file of another format is the fault of whoever sent it, not of the log."""
    try:
        yield
    except LogFormatError as exc:
        raise HTTPException(HTTPStatus.UNPROCESSABLE_ENTITY, str(exc)) from exc


def _cook(path: Path, name: str, told: Told | None) -> CookFile:
    """The cook of a file that was sent; a table without dates is taken for one of today."""
    if told is None:
        return read_cook_file(path)
    when = RealClock().wall().astimezone()
    return read_csv(decode_csv(path.read_bytes()), told, name=name, when=when)


def _named(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}

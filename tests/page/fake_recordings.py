"""The recordings of the scripted site: real ones, of simulated cooks."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from typing import TYPE_CHECKING

from fastapi import FastAPI, Response
from fastapi.responses import JSONResponse, StreamingResponse

if TYPE_CHECKING:
    from tests.page.fake_site import Site

UNKNOWN = "There is no cook of that id in the logbook: load the list again."


def add_recordings(app: FastAPI, site: Site) -> None:
    """Half of a file comes at once, the rest when the site holds it no more."""

    @app.get("/api/v1/cooks/{id}/recording")
    async def recording(id: str) -> Response:
        if id not in site.recordings:
            problem = {"title": "Not found", "status": 404, "detail": UNKNOWN}
            return JSONResponse(problem, 404, media_type="application/problem+json")
        headers = {"content-encoding": "gzip"}
        parts = _parts(site, site.recordings[id])
        return StreamingResponse(parts, media_type="application/x-ndjson", headers=headers)


async def _parts(site: Site, file: bytes) -> AsyncIterator[bytes]:
    half = len(file) // 2
    yield file[:half]
    while site.is_holding:  # noqa: ASYNC110 (a test in another thread lets go)
        await asyncio.sleep(0.02)
    yield file[half:]

"""The page's own files, under an address that carries their version.

``/page/v-<version>/main.js`` asks for one state of all files: modules import each other by relative
addresses, so a page is never made of files of two versions, whatever was kept of an older one.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from fastapi import FastAPI
from fastapi.responses import HTMLResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import Scope

from pullcall.api.carried import with_carried

PAGE = Path(__file__).parent / "page"
_VERSIONED = "v-"
#: Served from the root, by an address of their own.
_AT_ROOT = frozenset(
    {"index.html", "logbook.html", "board.html", "worker.js", "manifest.webmanifest"}
)
#: A board has no worker, so no phone keeps its files.
_OF_BOARDS = "board/"
_FRESH = {"Cache-Control": "no-cache"}
_FOR_A_YEAR = {"Cache-Control": "public, max-age=31536000, immutable"}

#: Names, paths, times and sizes: they change with every file that is written.
_Stamp = tuple[tuple[str, str, int, int], ...]


class Pages:
    """``carried``: files that the build adds to the page, by their names below ``page/``."""

    def __init__(self, carried: Mapping[str, Path]) -> None:
        self._carried = carried

    def serve(self, app: FastAPI) -> None:
        """Serve the page, its files, its manifest and its worker."""
        for path, route in (
            ("/", lambda: self.document("index.html")),
            ("/logbook", lambda: self.document("logbook.html")),
            ("/worker.js", self._worker),
        ):
            app.add_api_route(path, route, include_in_schema=False)
        self.serve_files(app)

    def serve_files(self, app: FastAPI) -> None:
        """Serve the files alone, with the manifest."""
        app.add_api_route("/manifest.webmanifest", self._manifest, include_in_schema=False)
        # Compressed: public files that tell no secret by their length. Nothing else is.
        files = GZipMiddleware(_Files(self), minimum_size=500, compresslevel=6)
        app.mount("/page", files, name="page")

    def document(self, name: str, up: str = "") -> HTMLResponse:
        """A document that asks for this version's files. ``up`` leads to where they are served."""
        text = with_carried(_text(name), bool(self._carried))
        for own, there in (
            ('"page/', f'"{up}page/{self.folder()}/'),
            ('"manifest.', f'"{up}manifest.'),
        ):
            text = text.replace(own, there)
        return HTMLResponse(text, headers=_FRESH)

    def files(self) -> dict[str, Path]:
        """Every file by its name."""
        own = (path for path in PAGE.rglob("*") if path.is_file())
        return {**{path.relative_to(PAGE).as_posix(): path for path in own}, **self._carried}

    def folder(self) -> str:
        """The name that stands for this state of all files: "v-0123456789ab"."""
        files = sorted(self.files().items())
        states = ((name, path, path.stat()) for name, path in files)
        stamp = tuple((n, str(path), state.st_mtime_ns, state.st_size) for n, path, state in states)
        return f"{_VERSIONED}{_digest(stamp)}"

    def _worker(self) -> Response:
        folder = self.folder()
        kept = (n for n in sorted(self.files()) if n not in _AT_ROOT)
        files = [f"page/{folder}/{name}" for name in kept if not name.startswith(_OF_BOARDS)]
        told = f"const VERSION = {json.dumps(folder)}, FILES = {json.dumps(files)};\n"
        return Response(told + _text("worker.js"), media_type="text/javascript", headers=_FRESH)

    def _manifest(self) -> Response:
        text = _text("manifest.webmanifest")
        return Response(text, media_type="application/manifest+json", headers=_FRESH)


class _Files(StaticFiles):
    """A file by its plain name, or by a version: then it is that version's, or missing."""

    def __init__(self, pages: Pages) -> None:
        super().__init__(directory=PAGE)
        self._pages = pages

    def lookup_path(self, path: str) -> tuple[str, os.stat_result | None]:
        """Where a file lies: only the page's files are ever found."""
        file = self._pages.files().get(path)
        return ("", None) if file is None else (str(file), file.stat())

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, or 404."""
        first, _, rest = path.partition("/")
        if not first.startswith(_VERSIONED):
            return await super().get_response(path, scope)
        if first != await run_in_threadpool(self._pages.folder):
            raise HTTPException(404, "The page has changed: load it again.")
        answer = await super().get_response(rest, scope)
        answer.headers.update(_FOR_A_YEAR)
        return answer


def _text(name: str) -> str:
    return (PAGE / name).read_text(encoding="utf-8")


@lru_cache(maxsize=4)
def _digest(stamp: _Stamp) -> str:
    digest = hashlib.sha256()
    for name, path, _, _ in stamp:
        digest.update(name.encode() + b"\0" + Path(path).read_bytes() + b"\0")
    return digest.hexdigest()[:12]

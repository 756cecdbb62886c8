"""The API and the page as one ASGI application around a site."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path
from typing import Any

from fastapi import APIRouter, FastAPI
from fastapi.responses import FileResponse
from fastapi.staticfiles import StaticFiles
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pullcall.api import problem
from pullcall.api.cook_site import CookSite
from pullcall.api.models import Problem
from pullcall.api.routes import calls, clips, cooks, marks, phones, probes, proposals, stream

PAGE = Path(__file__).parent / "page"
_HEADERS = {
    b"content-security-policy": b"default-src 'self'; connect-src 'self' ws: wss:; "
    b"base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"no-referrer",
}
_PROBLEMS: dict[int | str, dict[str, Any]] = {
    status: {"model": Problem, "content": {problem.MEDIA_TYPE: {}}} for status in (404, 409, 422)
}


def create_app(site: CookSite) -> FastAPI:
    """The application; it holds no state of its own."""
    app = FastAPI(title="Pullcall", version=version("pullcall"), docs_url=None, redoc_url=None)
    app.state.site = site
    problem.install(app)
    api = APIRouter(prefix="/api/v1", responses=_PROBLEMS)
    for noun in (cooks, marks, calls, clips, proposals, phones, probes, stream):
        api.include_router(noun.router)
    app.include_router(api)
    app.add_api_route("/", _index, include_in_schema=False)
    app.mount("/page", StaticFiles(directory=PAGE), name="page")
    app.add_middleware(_Headers)
    return app


async def _index() -> FileResponse:
    return FileResponse(PAGE / "index.html", headers={"Cache-Control": "no-cache"})


class _Headers:
    """Adds the security headers to every HTTP answer."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", []), *_HEADERS.items()]
            await send(message)

        await self._app(scope, receive, send_with_headers)

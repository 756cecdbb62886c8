"""The scripted site on the web: its page, its stream and the requests of the contract.

``python -m tests.page.fake_app --at 200 --speed 6`` serves it on 127.0.0.1:8799.
"""

from __future__ import annotations

import argparse
import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import uvicorn
from fastapi import FastAPI, Request, Response, WebSocket
from fastapi.responses import JSONResponse

from pullcall.api.carried import carried
from pullcall.api.pages import Pages
from tests.chart_library import require_chart_library
from tests.page.fake_access import REFUSED
from tests.page.fake_logbook import add_logbook
from tests.page.fake_recordings import add_recordings
from tests.page.fake_site import Site
from tests.page.inbox import Body, Inbox

POLICY = {"content-security-policy": "default-src 'self'"}
COOKIE = "pullcall"
NOT_PAIRED = "This phone is not paired: scan the QR that `pullcall pair` shows."
TOO_FEW = "Only a cook's phone can do this: ask the cook, or pair this phone as one."


def make_app(site: Site) -> FastAPI:
    """The page, the stream and the requests of the contract that the page uses."""

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        playing = asyncio.create_task(site.play())
        yield
        playing.cancel()

    app = FastAPI(lifespan=lifespan)
    if site.has_charts:
        require_chart_library()
    Pages(carried() if site.has_charts else {}).serve(app)
    add_access(app, site)
    add_logbook(app, site.logbook)
    add_recordings(app, site)

    @app.middleware("http")
    async def strict(request: Request, forward: Any) -> Response:
        if site.hanging:
            await asyncio.Event().wait()
        if site.silent:
            return Response(status_code=503)
        refusal = site.access.may(request.cookies.get(COOKIE), request.method, request.url.path)
        if refusal:
            return refused(NOT_PAIRED if refusal == 401 else TOO_FEW, refusal)
        answer: Response = await forward(request)
        answer.headers.update(POLICY)
        return answer

    @app.get("/api/v1/snapshot")
    async def snapshot(request: Request) -> dict[str, Any] | None:
        site.begin()
        with site.turn:
            return site.seen_by(request.cookies.get(COOKIE), site.snapshot())

    @app.websocket("/api/v1/stream")
    async def stream(socket: WebSocket) -> None:
        cookie = site.access.redeem(socket.scope["subprotocols"])
        if site.silent or site.hanging or not site.access.visitor(cookie)["rights"]:
            await socket.close()
            return
        await socket.accept("pullcall.1")
        await serve(site, socket, cookie or "")

    @app.post("/api/v1/marks", status_code=201)
    async def mark(body: Body) -> Any:
        if body["mark"] == "baste":
            return refused("Baste only while the steak is on.")
        return site.take(body["mark"], body["steak"], body["ago_s"])

    @app.post("/api/v1/spots", status_code=201)
    async def spot(body: Body) -> Body:
        return site.spot({"id": f"s{len(site.spots)}", "t": site.t, **body})

    @app.patch("/api/v1/cook")
    async def cook(body: Body) -> Any:
        if body.get("durations", {}).get("walk") == "soon":
            return refused('Write how long it takes with s, min or h, for example "7-10 min".')
        return site.change_cook(body)

    @app.patch("/api/v1/steaks/{name}")
    async def steak(name: str, body: Body) -> Body:
        return site.change_steak(name, body)

    @app.delete("/api/v1/marks/{name}", status_code=204)
    @app.delete("/api/v1/spots/{name}", status_code=204)
    async def undo(name: str) -> None:
        site.undo(name)

    @app.post("/api/v1/acknowledgements", status_code=201)
    async def acknowledge(body: Body) -> Body:
        site.set_state(body["call"], "acknowledged", body["by"])
        return body

    @app.post("/api/v1/shelvings", status_code=201)
    async def shelve(body: Body) -> Body:
        site.shelvings.append(body)
        site.set_state(body["call"], "shelved", body["by"])
        return body

    @app.post("/api/v1/proposals", status_code=204)
    async def answer(body: Body) -> None:
        site.answers.append(body)
        site.propose()

    @app.post("/api/v1/phones", status_code=204)
    async def phone(body: Body) -> None:
        site.phones.append(body)

    @app.get("/api/v1/clips/{id}")
    async def clip(id: str) -> Response:
        site.clips_asked.append(id)
        if id not in site.clips:
            return refused("No call has these words any more: load the page again.", 404)
        return Response(site.clips[id], media_type="audio/wav")

    @app.post("/api/v1/receipts", status_code=204)
    async def receipt(body: Body) -> None:
        site.receipts.append(body)

    @app.post("/api/v1/cooks", status_code=201)
    async def begin() -> Body:
        site.begin_anew()
        return {"cook": "next"}

    return app


def add_access(app: FastAPI, site: Site) -> None:
    """The requests about who may do what."""
    access = site.access

    @app.get("/api/v1/visitor")
    async def visitor(request: Request) -> Body:
        return access.visitor(request.cookies.get(COOKIE))

    @app.post("/api/v1/pairings", status_code=201)
    async def pair(body: Body, response: Response) -> Any:
        cookie = access.claim(body)
        if cookie is None:
            return refused(REFUSED, 403)
        response.set_cookie(COOKIE, cookie, httponly=True, samesite="strict")
        return access.visitor(cookie)

    @app.get("/api/v1/pairings")
    async def pairings(request: Request) -> list[Body]:
        return access.listed(request.cookies.get(COOKIE), set(site.readers.values()))

    @app.delete("/api/v1/pairings/{name}", status_code=204)
    async def unpair(name: str, request: Request) -> Response:
        if name == "me":
            name = access.pairings[request.cookies[COOKIE]]["id"]
        site.revoke(name)
        return Response(status_code=204)

    @app.post("/api/v1/tickets", status_code=201)
    async def ticket(request: Request) -> Body:
        return {"ticket": access.ticket(request.cookies.get(COOKIE))}

    @app.get("/api/v1/invitations")
    async def invitations() -> list[Body]:
        return [access.out(one) for one in list(access.invitations.values())]

    @app.post("/api/v1/invitations", status_code=201)
    async def invite(body: Body, request: Request) -> Body:
        return access.handed_over(access.invite(**body), str(request.base_url))

    @app.delete("/api/v1/invitations/{name}", status_code=204)
    async def uninvite(name: str) -> None:
        site.revoke(name)


def refused(detail: str, status: int = 409) -> JSONResponse:
    """A refusal as the site words it."""
    problem = {"title": "Conflict", "status": status, "detail": detail}
    return JSONResponse(problem, status, media_type="application/problem+json")


async def serve(site: Site, socket: WebSocket, cookie: str) -> None:
    """Greet one page, then feed it and answer its pings until it goes."""
    inbox = Inbox()
    site.greet(inbox, cookie)
    try:
        await inbox.feed(socket, lambda: None if site.silent else {"t": site.t})
    finally:
        site.forget(inbox)


def main() -> None:
    """Serve for trying by hand."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--at", type=float, default=0.0, help="cook seconds already passed")
    parser.add_argument("--speed", type=float, default=1.0)
    parser.add_argument("--mode", default="demo")
    parser.add_argument("--port", type=int, default=8799)
    parser.add_argument("--guarded", action="store_true", help="phones have to be paired")
    parser.add_argument("--waiting", action="store_true", help="before the steaks go on")
    chosen = parser.parse_args()
    site = Site(chosen.at, chosen.speed, chosen.mode, cooking=not chosen.waiting)
    site.change_cook({"window": "14:00-14:30"})
    site.access.guarded = chosen.guarded
    uvicorn.run(
        make_app(site),
        host="127.0.0.1",
        port=chosen.port,
        log_level="warning",
        ws="websockets-sansio",
    )


if __name__ == "__main__":
    main()

"""``GET /metrics``: what was measured, for whoever has the token, and for this machine itself."""

from __future__ import annotations

import hmac
from http import HTTPStatus

from fastapi import FastAPI, HTTPException, Request
from fastapi.responses import Response
from prometheus_client.registry import Collector

from pullcall.api.counted import CountedStreams
from pullcall.api.guard.files import METRICS
from pullcall.api.visitor import is_here
from pullcall.metrics.exposition import expose, registry_of
from pullcall.metrics.streams import Streams

_NEVER_KEPT = {"Cache-Control": "no-store"}
_CHALLENGE = {"WWW-Authenticate": 'Bearer realm="metrics"'}
_PLAIN = "Scrape this over https: a token must not cross the network in the clear."
_WRONG = "Send the token that [metrics] token names, as Authorization: Bearer TOKEN."
_NONE = "Only this machine itself may read this: to scrape it from another, set [metrics] token."


def serve_metrics(app: FastAPI, collector: Collector, token: str) -> None:
    """Serve what ``collector`` tells. ``token`` "": only this machine itself may read it."""
    registry = registry_of(collector)

    async def metrics(request: Request) -> Response:
        _check(request, token)
        told = expose(registry, request.headers.get("accept", ""))
        return Response(told.body, 200, _NEVER_KEPT, told.media_type)

    app.add_api_route(METRICS, metrics, include_in_schema=False)


def count_streams(app: FastAPI) -> Streams:
    """The streams of an application from now on; to be called before it is served."""
    streams = Streams()
    app.add_middleware(CountedStreams, streams=streams)
    return streams


def _check(request: Request, token: str) -> None:
    """Raise HTTPException, saying what to do, for whoever may not read this."""
    sent, here = request.headers.get("authorization"), is_here(request)
    if sent is None and here:
        return
    if not token:
        raise HTTPException(HTTPStatus.FORBIDDEN, _NONE)
    if not here and request.url.scheme != "https":
        raise HTTPException(HTTPStatus.FORBIDDEN, _PLAIN)
    if not _is_token(sent or "", token):
        raise HTTPException(HTTPStatus.UNAUTHORIZED, _WRONG, _CHALLENGE)


def _is_token(sent: str, token: str) -> bool:
    """Compares in constant time: how long a refusal takes tells nothing of the token."""
    scheme, _, given = sent.partition(" ")
    is_same = hmac.compare_digest(given.strip().encode(), token.encode())
    return is_same and scheme.lower() == "bearer"

"""Nobody asks more often than a page does: a crowd must not slow the cook's own phone."""

from __future__ import annotations

import math
from collections.abc import Callable
from http import HTTPStatus

from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Receive, Scope, Send

from pullcall.access.limits import (
    ATTEMPTS_OF_ONE,
    OF_FILES,
    OF_PAIRED,
    OF_SNAPSHOTS,
    OF_STRANGER,
    OF_STREAMS,
)
from pullcall.api.admission import Admission
from pullcall.api.guard.files import is_for_a_file
from pullcall.api.guard.refusal import refuse
from pullcall.api.token_cookie import token_of
from pullcall.api.visitor import is_here
from pullcall.buckets import Buckets
from pullcall.network.connection import RESTS

_PAIR = "/api/v1/pairings"
#: Everything there is; what a board says of all its sites is the same as its snapshot.
_EVERYTHING = ("/api/v1/snapshot", "/api/v1/sites")
_STREAMS = ("/api/v1/tickets", "/api/v1/stream", "/api/v1/events")


class Rates:
    """Token buckets: one for each paired phone, one for each address that is not paired.

    Attempts to pair have buckets of their own, so that guessing is slow, and spends nothing of
    what paired phones may ask; so have a phone's snapshots (a board's ``sites`` are one), its
    streams, and the tickets that open them, as each of them is everything there is. There is none
    for all addresses together: a crowd of guessers would keep the cook's own phone out, and a code
    has five tries however many they are.
    """

    def __init__(self, app: ASGIApp, access: Admission) -> None:
        self._app = app
        self._access = access
        self._paired = Buckets(OF_PAIRED)
        self._streams = Buckets(OF_STREAMS)
        self._snapshots = Buckets(OF_SNAPSHOTS)
        self._strangers = Buckets(OF_STRANGER)
        self._files = Buckets(OF_FILES)
        self._attempts = Buckets(ATTEMPTS_OF_ONE)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        wait_s = self._wait_s(scope) if scope["type"] in ("http", "websocket") else 0.0
        if wait_s == 0.0:
            await self._app(scope, receive, send)
        else:
            await _refuse(scope, receive, send, wait_s)

    def _wait_s(self, scope: Scope) -> float:
        connection = HTTPConnection(scope)
        if is_here(connection):
            return 0.0
        now = self._access.now()
        address = _address(scope)
        if is_for_a_file(scope):
            return self._files.take(address, now)
        if scope["path"].endswith(_PAIR) and scope.get("method") == "POST":
            return self._attempts.take(address, now)
        token = token_of(connection, self._access.cookie)
        pairing = self._access.pairing_of(token) if token else None
        if pairing is not None and scope["path"].endswith(_STREAMS):
            return self._streams.take(pairing.id, now)
        if pairing is not None and scope["path"].endswith(_EVERYTHING):
            return self._snapshots.take(pairing.id, now)
        if pairing is not None:
            return self._paired.take(pairing.id, now)
        return self._strangers.take(address, now)


class FileRates:
    """The same for what serves nothing but files: one bucket for each address.

    ``now()`` gives monotonic seconds.
    """

    def __init__(self, app: ASGIApp, now: Callable[[], float]) -> None:
        self._app = app
        self._now = now
        self._files = Buckets(OF_FILES)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        wait_s = self._files.take(_address(scope), self._now())
        if wait_s == 0.0:
            await self._app(scope, receive, send)
        else:
            await _refuse(scope, receive, send, wait_s)


def _address(scope: Scope) -> str:
    client = scope.get("client")
    return client[0] if client else ""


async def _refuse(scope: Scope, receive: Receive, send: Send, wait_s: float) -> None:
    seconds = math.ceil(wait_s)
    detail = f"Too many requests: wait {seconds} s and tap again."
    headers = {"Retry-After": str(seconds)}
    scope[RESTS] = True  # asked for again, the same refusal would cost as much as an answer
    await refuse(scope, receive, send, HTTPStatus.TOO_MANY_REQUESTS, detail, headers)

"""The stream, by websocket and by EventSource: the same messages, the same numbers, resume."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Coroutine
from contextlib import ExitStack
from http import HTTPStatus
from typing import Annotated, Any

from fastapi import (
    APIRouter,
    Depends,
    HTTPException,
    Request,
    Response,
    WebSocket,
    WebSocketDisconnect,
)
from fastapi.requests import HTTPConnection
from fastapi.responses import StreamingResponse
from starlette.types import Receive, Scope, Send

from pullcall.access.role import Right
from pullcall.api.access_here import AdmissionHere
from pullcall.api.admission import Admission
from pullcall.api.guard.rights import VisitorHere
from pullcall.api.sight.batch import events as as_events
from pullcall.api.sight.batch import frames, refreshed
from pullcall.api.sight.feed import Feed, FeedsHere
from pullcall.api.visitor import Visitor, paired
from pullcall.errors import UnknownNameError
from pullcall.network.stream_socket import FRAMES
from pullcall.site.hub import Page

router = APIRouter(tags=["stream"])

#: A page that takes nothing for this long is let go, seconds.
_SEND_TIMEOUT_S = 5.0
#: Websocket close codes: "try again later" (RFC 6455 registry), and our own for 401.
_TRY_AGAIN, _NOT_PAIRED = 1013, 4401
_LONGEST = 15
#: Whole numbers that every page can count with end here.
_BEYOND = 2**53
_PROTOCOL, _TICKET = "pullcall.1", "ticket."
_FULL = "Too many are watching: wait a minute, and close other tabs of this page."


async def _feed(connection: HTTPConnection, visitor: VisitorHere) -> Feed:
    feeds: FeedsHere = connection.app.state.feeds
    return feeds.shown_to(visitor, connection)


FeedHere = Annotated[Feed, Depends(_feed)]


@router.get("/snapshot", response_model=dict[str, Any])
async def snapshot(feed: FeedHere) -> Response:
    """Everything a page needs to start from."""
    return as_json(feed.snapshot())


def as_json(line: str) -> Response:
    """A message as an answer: it is JSON already."""
    return Response(line, media_type="application/json")


@router.websocket("/stream")
async def stream(socket: WebSocket, access: AdmissionHere, asking: VisitorHere) -> None:
    """Messages to one page; it may ping. It opens with a ticket, see docs/access.md."""
    visitor = asking if asking.here else _by_ticket(socket, access)
    place = access.take_place(visitor.pairing, _watches(visitor))
    if place is None:
        await socket.close()  # before it opens: the handshake is refused
        return
    with place:
        if (feed := await _feed_for(socket, visitor)) is None:
            await socket.close()
            return
        offered = socket.scope.get("subprotocols", [])
        await socket.accept(_PROTOCOL if _PROTOCOL in offered else None)
        await _show(socket, feed, visitor, access)


class _Events(StreamingResponse):
    """Server-sent events; their place is free again when they end, and if they never begin."""

    def __init__(self, lines: AsyncIterator[str], place: ExitStack) -> None:
        headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
        super().__init__(lines, media_type="text/event-stream", headers=headers)
        self._place = place

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        with self._place:
            await super().__call__(scope, receive, send)


@router.get("/events", response_class=StreamingResponse)
async def events(
    request: Request, feed: FeedHere, visitor: VisitorHere, access: AdmissionHere
) -> StreamingResponse:
    """The same messages as server-sent events; the event id is ``epoch:seq``."""
    epoch, since = _resume(dict(request.query_params))
    last = request.headers.get("last-event-id", "")
    if ":" in last:
        epoch, since = last.split(":")[0], _number(last.split(":")[1])
    place = access.take_place(visitor.pairing, _watches(visitor))
    if place is None:
        raise HTTPException(HTTPStatus.SERVICE_UNAVAILABLE, _FULL)
    return _Events(_event_lines(feed, epoch, since, visitor, access), place)


async def _feed_for(socket: WebSocket, visitor: Visitor) -> Feed | None:
    """What a visitor may see of what the socket asks for; None: nothing."""
    if Right.READ not in visitor.rights:
        return None
    try:
        return await _feed(socket, visitor)
    except (HTTPException, UnknownNameError):
        return None


def _by_ticket(socket: WebSocket, access: Admission) -> Visitor:
    """Who brings a ticket: for all but this machine a cookie is not enough."""
    offered = socket.scope.get("subprotocols", [])
    tickets = [name.removeprefix(_TICKET) for name in offered if name.startswith(_TICKET)]
    pairing = access.redeem(tickets[0]) if len(tickets) == 1 else None
    return Visitor() if pairing is None else paired(socket, pairing)


def _watches(visitor: Visitor) -> bool:
    """Whether a visitor is one of the crowd: neither takes part, nor sits at this machine."""
    return Right.ACT not in visitor.rights and not visitor.here


def _page_of(feed: Feed, visitor: Visitor) -> Page:
    """Whoever takes part is told at once, the crowd in turns."""
    return feed.follow() if _watches(visitor) else feed.join()


async def _gone(visitor: Visitor, access: Admission) -> None:
    """Return once this visitor's pairing has ended; this machine's own never does."""
    if visitor.pairing is None:
        await asyncio.Event().wait()
    else:
        await access.until_gone(visitor.pairing)


async def _show(socket: WebSocket, feed: Feed, visitor: Visitor, access: Admission) -> None:
    """The greeting, and then what comes, until either side ends it."""
    page = _page_of(feed, visitor)
    try:
        await _send(socket, feed.greeting(*_resume(dict(socket.query_params))))
        await _converse(socket, feed, page, _gone(visitor, access))
    except (WebSocketDisconnect, TimeoutError):
        pass
    finally:
        feed.leave(page)


async def _converse(
    socket: WebSocket, feed: Feed, page: Page, gone: Coroutine[Any, Any, None]
) -> None:
    """Send what comes and answer pings until either side ends it, or the pairing has ended."""
    reading = asyncio.create_task(_answer_pings(socket, feed), name="pings")
    sending = asyncio.create_task(_feed_page(socket, feed, page), name="send")
    ending = asyncio.create_task(_say_gone(socket, gone), name="gone")
    tasks = (reading, sending, ending)
    await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    for task in tasks:
        task.cancel()
    for end in await asyncio.gather(*tasks, return_exceptions=True):
        if isinstance(end, Exception):
            raise end


async def _say_gone(socket: WebSocket, gone: Coroutine[Any, Any, None]) -> None:
    await gone
    await socket.close(_NOT_PAIRED)


async def _feed_page(socket: WebSocket, feed: Feed, page: Page) -> None:
    while (lines := await _lines_for(page, feed)) is not None:
        async with asyncio.timeout(_SEND_TIMEOUT_S):  # wait_for of 3.11 can lose a cancellation
            await _send(socket, lines)
    await socket.close(_TRY_AGAIN)


async def _lines_for(page: Page, feed: Feed) -> list[str] | None:
    """What comes next; everything where the page fell behind. None ends it."""
    lines = await page.next()
    if lines is None:
        return None if page.is_gone else feed.greeting(None, None)
    return refreshed(lines, feed.now)


async def _send(socket: WebSocket, lines: list[str]) -> None:
    """Send lines as one, where the server takes frames; else one by one."""
    if FRAMES in socket.scope.get("extensions", {}):
        await socket.send({"type": "websocket.send", FRAMES: frames(lines)})
        return
    for line in lines:
        await socket.send_text(line)


async def _answer_pings(socket: WebSocket, feed: Feed) -> None:
    while True:
        message = _message(await _text_from(socket))
        if message.get("type") == "ping":
            await socket.send_text(json.dumps(pong(message, feed.now())))


def pong(ping: dict[str, Any], t: float) -> dict[str, Any]:
    """The answer to a ping; a number comes back, nothing else does."""
    n = ping.get("n")
    is_number = type(n) is int and abs(n) < _BEYOND
    return {"type": "pong", "n": n if is_number else None, "t": round(t, 3)}


async def _text_from(socket: WebSocket) -> str:
    """The next text of a page; binary is no message. Raises WebSocketDisconnect."""
    received = await socket.receive()
    if received["type"] == "websocket.disconnect":
        raise WebSocketDisconnect(received.get("code", 1006))
    return received.get("text") or ""


async def _event_lines(
    feed: Feed, epoch: str | None, since: int | None, visitor: Visitor, access: Admission
) -> AsyncIterator[str]:
    page = _page_of(feed, visitor)
    ending = asyncio.create_task(_let_go(page, _gone(visitor, access)), name="gone")
    try:
        yield as_events(feed.epoch, feed.greeting(epoch, since))
        while (lines := await _lines_for(page, feed)) is not None:
            yield as_events(feed.epoch, lines)
    finally:
        ending.cancel()
        feed.leave(page)


async def _let_go(page: Page, gone: Coroutine[Any, Any, None]) -> None:
    await gone
    page.let_go()


def _resume(query: dict[str, str]) -> tuple[str | None, int | None]:
    return query.get("epoch"), _number(query.get("since"))


def _number(text: str | None) -> int | None:
    """A number of a message; what is none, or absurdly long, means from the start."""
    is_one = text is not None and len(text) <= _LONGEST and text.isascii() and text.isdigit()
    return int(text) if is_one and text else None


def _message(text: str) -> dict[str, Any]:
    """What a page said; nonsense is no message."""
    try:
        message = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return message if isinstance(message, dict) else {}

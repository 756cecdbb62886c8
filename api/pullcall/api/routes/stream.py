"""The stream, by websocket and by EventSource: the same messages, the same numbers, resume."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

from fastapi import APIRouter, Request, WebSocket, WebSocketDisconnect
from fastapi.responses import StreamingResponse

from pullcall.api.cook_site import CookSite, SiteHere
from pullcall.log.records import to_line
from pullcall.site.hub import Listener

router = APIRouter(tags=["stream"])

#: A page that takes nothing for this long is let go, seconds.
_SEND_TIMEOUT_S = 5.0
#: Websocket close code "try again later" (RFC 6455 registry): the page resumes.
_TRY_AGAIN = 1013


@router.websocket("/stream")
async def stream(socket: WebSocket, site: SiteHere) -> None:
    """Messages to one page; it may ping."""
    await socket.accept()
    listener = site.hub.join()
    try:
        for line in _greeting(site, *_resume(dict(socket.query_params))):
            await socket.send_text(line)
        await _converse(socket, site, listener)
    except (WebSocketDisconnect, TimeoutError):
        pass
    finally:
        site.hub.leave(listener)


@router.get("/events", response_class=StreamingResponse)
async def events(request: Request, site: SiteHere) -> StreamingResponse:
    """The same messages as server-sent events; the event id is ``epoch:seq``."""
    epoch, since = _resume(dict(request.query_params))
    last = request.headers.get("last-event-id", "")
    if ":" in last:
        epoch, since = last.split(":")[0], _number(last.split(":")[1])
    return StreamingResponse(
        _event_lines(site, epoch, since),
        media_type="text/event-stream",
        headers={"Cache-Control": "no-store", "X-Accel-Buffering": "no"},
    )


async def _converse(socket: WebSocket, site: CookSite, listener: Listener) -> None:
    """Send what comes and answer pings until either side ends it."""
    reading = asyncio.create_task(_answer_pings(socket, site), name="pings")
    sending = asyncio.create_task(_send(socket, listener), name="send")
    await asyncio.wait({reading, sending}, return_when=asyncio.FIRST_COMPLETED)
    for task in (reading, sending):
        task.cancel()
    for end in await asyncio.gather(reading, sending, return_exceptions=True):
        if isinstance(end, Exception):
            raise end


async def _send(socket: WebSocket, listener: Listener) -> None:
    while (line := await listener.queue.get()) is not None:
        await asyncio.wait_for(socket.send_text(line), _SEND_TIMEOUT_S)
    await socket.close(_TRY_AGAIN)


async def _answer_pings(socket: WebSocket, site: CookSite) -> None:
    while True:
        message = _message(await _text_from(socket))
        if message.get("type") == "ping":
            answer = {"type": "pong", "n": message.get("n"), "t": round(site.now(), 3)}
            await socket.send_text(json.dumps(answer))


async def _text_from(socket: WebSocket) -> str:
    """The next text of a page; binary is no message. Raises WebSocketDisconnect."""
    received = await socket.receive()
    if received["type"] == "websocket.disconnect":
        raise WebSocketDisconnect(received.get("code", 1006))
    return received.get("text") or ""


async def _event_lines(site: CookSite, epoch: str | None, since: int | None) -> AsyncIterator[str]:
    listener = site.hub.join()
    try:
        for line in _greeting(site, epoch, since):
            yield _event(site, line)
        while (queued := await listener.queue.get()) is not None:
            yield _event(site, queued)
    finally:
        site.hub.leave(listener)


def _greeting(site: CookSite, epoch: str | None, since: int | None) -> list[str]:
    """Hello, then either what was missed or everything."""
    missed = site.hub.missed(epoch, since)
    snapshot = site.snapshot()
    hello: dict[str, Any] = {
        "type": "hello",
        "epoch": site.hub.epoch,
        "seq": site.hub.seq,
        "t": snapshot["t"],
        "speed": snapshot["speed"],
        "resumed": missed is not None,
    }
    rest = [to_line({"type": "snapshot", **snapshot})] if missed is None else missed
    return [to_line(hello), *rest]


def _event(site: CookSite, line: str) -> str:
    seq = json.loads(line).get("seq")
    id = f"id: {site.hub.epoch}:{seq}\n" if seq is not None else ""
    return f"{id}data: {line}\n\n"


def _resume(query: dict[str, str]) -> tuple[str | None, int | None]:
    return query.get("epoch"), _number(query.get("since"))


def _number(text: str | None) -> int | None:
    return int(text) if text is not None and text.isascii() and text.isdigit() else None


def _message(text: str) -> dict[str, Any]:
    """What a page said; nonsense is no message."""
    try:
        message = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return message if isinstance(message, dict) else {}

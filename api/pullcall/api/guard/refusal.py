"""How a guard turns a request away, over HTTP and websocket."""

from __future__ import annotations

from http import HTTPStatus

from starlette.types import Receive, Scope, Send

from pullcall.api.problem import problem


async def refuse(
    scope: Scope,
    receive: Receive,
    send: Send,
    status: HTTPStatus,
    detail: str,
    headers: dict[str, str] | None = None,
) -> None:
    """Answer with a problem; a websocket is refused before it opens."""
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008, "reason": ""})
        return
    answer = problem(status, detail)
    answer.headers.update(headers or {})
    await answer(scope, receive, send)

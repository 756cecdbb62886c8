"""What goes wrong inside is answered like everything else: with a sentence, and all headers."""

from __future__ import annotations

import logging
from http import HTTPStatus

from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from uvicorn.protocols.utils import ClientDisconnected

from pullcall.api.guard.refusal import refuse

_log = logging.getLogger(__name__)

_DETAIL = "Something went wrong inside Pullcall; the cook goes on. Its log says what it was."


class Unexpected:
    """Turns an exception that nobody foresaw into a logged error and a problem."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        has_begun = False

        async def send_and_note(message: Message) -> None:
            nonlocal has_begun
            has_begun = True
            await send(message)

        try:
            await self._app(scope, receive, send_and_note)
        except (ConnectionError, ClientDisconnect, ClientDisconnected):
            _log.debug("a phone went away", exc_info=True)
        except Exception:
            _log.exception("a request to %s failed", scope.get("path"))
            if has_begun:
                raise
            await refuse(scope, receive, send, HTTPStatus.INTERNAL_SERVER_ERROR, _DETAIL)

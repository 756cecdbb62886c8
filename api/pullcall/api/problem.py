"""Errors as RFC 9457 problem details: ``detail`` is a sentence a person can act on."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from pullcall.errors import (
    CookKnownError,
    LogError,
    PairingError,
    PullcallError,
    RefusedError,
    StoppingError,
    UnknownNameError,
)
from pullcall.finding import sentence

MEDIA_TYPE = "application/problem+json"
#: The most specific error first.
_STATUS: tuple[tuple[type[PullcallError], HTTPStatus], ...] = (
    (UnknownNameError, HTTPStatus.NOT_FOUND),
    (RefusedError, HTTPStatus.CONFLICT),
    (PairingError, HTTPStatus.FORBIDDEN),
    (CookKnownError, HTTPStatus.CONFLICT),
    (LogError, HTTPStatus.SERVICE_UNAVAILABLE),
    (StoppingError, HTTPStatus.SERVICE_UNAVAILABLE),
)


def problem(status: HTTPStatus, detail: str) -> JSONResponse:
    """A problem answer; its title is the status's own phrase."""
    body = {"type": "about:blank", "title": status.phrase, "status": status, "detail": detail}
    return JSONResponse(body, status_code=status, media_type=MEDIA_TYPE)


async def _anybody(request: Request) -> None:
    """Everybody has every right."""


def install(app: FastAPI, ask_right: Callable[[Request], Awaitable[object]] = _anybody) -> None:
    """Answer every error of ``app`` as a problem.

    A body is read before anything else of a route. Who has no right is told that, and not what is
    wrong with what they sent: ``ask_right`` raises HTTPException for them.
    """

    async def in_what_was_sent(request: Request, error: Exception) -> JSONResponse:
        try:
            await ask_right(request)
        except HTTPException as refusal:
            return await _http(request, refusal)
        answer = _invalid if isinstance(error, RequestValidationError) else _http
        return await answer(request, error)

    app.add_exception_handler(PullcallError, _pullcall)
    app.add_exception_handler(RequestValidationError, in_what_was_sent)
    app.add_exception_handler(HTTPStatus.BAD_REQUEST, in_what_was_sent)
    app.add_exception_handler(HTTPException, _http)


async def _pullcall(request: Request, error: Exception) -> JSONResponse:
    status = next((s for kind, s in _STATUS if isinstance(error, kind)), HTTPStatus.BAD_REQUEST)
    return problem(status, str(error))


async def _invalid(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    return problem(HTTPStatus.UNPROCESSABLE_ENTITY, "; ".join(map(_sentence, error.errors())))


async def _http(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    answer = problem(HTTPStatus(error.status_code), str(error.detail))
    answer.headers.update(error.headers or {})
    return answer


def _sentence(error: dict[str, Any]) -> str:
    """One finding of the validator, with the place it belongs to."""
    place = error.get("loc")
    names = [str(part) for part in place if part != "body"] if isinstance(place, tuple) else []
    return f"{'.'.join(names) or 'body'}: {sentence(error)}"

"""Errors as RFC 9457 problem details: ``detail`` is a sentence a person can act on."""

from __future__ import annotations

from http import HTTPStatus

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


def install(app: FastAPI) -> None:
    """Answer every error of ``app`` as a problem."""
    app.add_exception_handler(PullcallError, _pullcall)
    app.add_exception_handler(RequestValidationError, _invalid)
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


def _sentence(error: dict[str, object]) -> str:
    """One finding of the validator, with the place it belongs to."""
    place = error.get("loc")
    names = [str(part) for part in place if part != "body"] if isinstance(place, tuple) else []
    words = str(error.get("msg")).removeprefix("Value error, ")
    return f"{'.'.join(names) or 'body'}: {words}"

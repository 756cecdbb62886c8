"""The cookie by which a phone is known."""

from __future__ import annotations

from fastapi import Request, Response
from starlette.requests import HTTPConnection

from pullcall.api.guard.cookies import cookie_of
from pullcall.api.guard.origins import is_encrypted

#: Browsers take a cookie of such a name over TLS only, and for this very host: nobody who answers
#: in its place over plain http can plant one (RFC 6265bis, 4.1.3.2).
_OWN_HOST = "__Host-"


def token_of(connection: HTTPConnection, name: str) -> str | None:
    """The token that a phone brings in its cookie ``name``; None if it brings none.

    What came over TLS must have been given over TLS; a load balancer may have ended that.
    """
    token = cookie_of(connection, f"{_OWN_HOST}{name}")
    if token is None and not is_encrypted(connection.scope):
        token = cookie_of(connection, name)
    return token


def give_token(request: Request, response: Response, name: str, token: str, lasts_s: float) -> None:
    """Out of reach of scripts and of other sites; over TLS, for TLS and this host only."""
    secure = is_encrypted(request.scope)
    response.set_cookie(
        f"{_OWN_HOST}{name}" if secure else name,
        token,
        max_age=int(lasts_s),
        httponly=True,
        samesite="strict",
        secure=secure,
    )


def take_token(request: Request, response: Response, name: str) -> None:
    """Have the phone forget its token."""
    secure = is_encrypted(request.scope)
    response.delete_cookie(
        f"{_OWN_HOST}{name}" if secure else name, httponly=True, samesite="strict", secure=secure
    )

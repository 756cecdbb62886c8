"""The cookie by which a phone is known."""

from __future__ import annotations

from fastapi import Request, Response

from pullcall.api.guard.origins import is_encrypted


def give_cookie(
    request: Request, response: Response, name: str, token: str, lasts_s: float
) -> None:
    """Out of reach of scripts and of other sites; over TLS, for TLS only."""
    response.set_cookie(
        name,
        token,
        max_age=int(lasts_s),
        httponly=True,
        samesite="strict",
        secure=is_encrypted(request.scope),
    )

"""A token is found among whatever cookies a request brings, and in a time that none can stretch."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

import pytest
from starlette.requests import HTTPConnection

from pullcall.api.guard.cookies import cookie_of

TOKEN = "a_token-of.22-letters0"


def connection(*cookies: bytes) -> HTTPConnection:
    return HTTPConnection({"type": "http", "headers": [(b"cookie", one) for one in cookies]})


@pytest.mark.parametrize(
    "header",
    [
        f"pullcall={TOKEN}",
        f"other=1; pullcall={TOKEN} ;x=2",
        f"pullcall=older; pullcall={TOKEN}",
        f";;=; pullcall={TOKEN}; {'y=z; ' * 500}",
    ],
)
def test_a_token_is_found_beside_other_cookies(header: str) -> None:
    assert cookie_of(connection(header.encode()), "pullcall") == TOKEN


def test_a_token_is_found_in_a_second_header() -> None:
    assert cookie_of(connection(b"a=b", f"pullcall={TOKEN}".encode()), "pullcall") == TOKEN


@pytest.mark.parametrize(
    "value", [b"", b'""', b'"quoted"', b"a b", b"\xe4", b"a" * 201, b"a\\054", b"%41"]
)
def test_what_could_not_be_a_token_is_none(value: bytes) -> None:
    assert cookie_of(connection(b"pullcall=" + value), "pullcall") is None


def test_no_cookie_is_none() -> None:
    assert cookie_of(connection(), "pullcall") is None
    assert cookie_of(connection(b"notpullcall=x"), "pullcall") is None


def calls_in(act: Callable[[], object]) -> int:
    """How many functions of Python or C are called on the way: a time that no machine changes."""
    count = 0

    def see(frame: FrameType, event: str, _: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(see)
    try:
        act()
    finally:
        sys.setprofile(None)
    return count


def test_escapes_in_a_cookie_cost_a_stranger_no_more_than_letters() -> None:
    escapes = connection(b'pullcall="' + rb"\x" * 30_000 + b'"')
    letters = connection(b'pullcall="' + b"xx" * 30_000 + b'"')
    assert calls_in(lambda: cookie_of(escapes, "pullcall")) == calls_in(
        lambda: cookie_of(letters, "pullcall")
    )

"""Host, Origin, cookie and the other heads of a request, as the guards read them."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from starlette.requests import HTTPConnection
from starlette.types import Message, Receive, Scope, Send

from pullcall.api.guard.cookies import cookie_of
from pullcall.api.guard.headers import SecurityHeaders
from pullcall.api.guard.hosts import Hosts, host_of
from pullcall.api.guard.origins import Origins, is_encrypted
from pullcall.api.trust import Way
from pullcall.api.upload import _announced
from pullcall.api.visitor import is_here
from pullcall.network.addresses import Address
from pullcall.network.loopback import address_of, is_loopback
from tests.fuzz.cards import Cards
from tests.fuzz.target import Target

_NAMES = frozenset({"grill.local"})
_OWN = "192.168.7.20"
_TOKEN = "a-token_22-letters-long"
_HEADS = (b"host", b"origin", b"cookie", b"sec-fetch-site", b"content-length", b"x-forwarded-for")
_ADDRESS = address_of(_OWN)
_TRUST = Way(_NAMES, 8317, lambda: _addresses())


def _addresses() -> tuple[Address, ...]:
    assert _ADDRESS is not None
    return (_ADDRESS,)


@dataclass
class _Behind:
    """Whether a request got through."""

    was_reached: bool = False

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.was_reached = True
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b""})


def check(data: bytes) -> None:
    """A line for each head. What passes names this machine, and comes from its own page."""
    cards = Cards(data)
    method, scheme = cards.pick(("GET", "POST")), cards.pick(("http", "https"))
    client = cards.pick(("192.168.7.66", "127.0.0.1", "::1", "fe80::1%eth0", ""))
    heads = [(name, value) for name in _HEADS if (value := cards.line())]
    scope: dict[str, Any] = {
        "type": "http", "method": method, "scheme": scheme, "path": "/api/v1/marks",
        "query_string": b"", "headers": heads, "client": (client, 5000), "server": (_OWN, 8317),
    }  # fmt: skip
    behind = _Behind()
    sent = _through(SecurityHeaders(Hosts(Origins(behind), _NAMES)), scope)
    assert (sent[0]["status"] == 200) == behind.was_reached
    if behind.was_reached:
        _check_passed(scope, dict(heads))
    assert 0 <= _announced(HTTPConnection(scope)) < 10**16  # type: ignore[arg-type]
    assert client in ("127.0.0.1", "::1") or not is_here(HTTPConnection(scope))
    token = cookie_of(HTTPConnection(scope), "pullcall")
    assert token is None or 0 < len(token) <= 200
    _check_way(_TRUST.page(scope))


def _check_way(page: str) -> None:
    """Nobody is led to anything but this machine."""
    host = page.removeprefix("https://").removesuffix(":8317/").strip("[]")
    assert host in _NAMES or address_of(host) == _ADDRESS or is_loopback(host), page


def _check_passed(scope: dict[str, Any], heads: dict[bytes, bytes]) -> None:
    host = host_of(scope)
    assert host in _NAMES or address_of(host) == _ADDRESS
    origin = heads.get(b"origin")
    if origin is not None and scope["method"] == "POST":
        way = "https" if is_encrypted(scope) else "http"
        named = heads[b"host"].decode("latin-1").lower()
        assert origin.decode("latin-1").lower() == f"{way}://{named}"


def _through(app: Any, scope: dict[str, Any]) -> list[Message]:
    """What is answered; nothing on the way waits for anything, so no loop is needed."""
    sent: list[Message] = []

    async def receive() -> Message:
        return {"type": "http.request", "body": b""}

    async def send(message: Message) -> None:
        sent.append(message)

    with suppress(StopIteration):
        app(scope, receive, send).send(None)
    return sent


TARGET = Target(
    check,
    (
        b"\x01\x01\x00grill.local:8317\nhttps://grill.local:8317\npullcall=" + _TOKEN.encode(),
        b"\x00\x00\x01localhost\n\n\n\n12\n1.2.3.4",
        b"\x01\x00\x00192.168.7.20\nhttp://evil.example\n\ncross-site",
        b"\x00\x00\x00[::ffff:192.168.7.20]:8317\nnull\na=b; pullcall=x; pullcall=y",
        b'\x00\x00\x00grill.local\n\npullcall="' + b"\\x" * 1500 + b'"',
        b"\x00\x00\x00GRILL.local.\n\n;;=;pullcall\n\n" + b"9" * 400,
    ),
    (b"grill.local", b"192.168.7.20", b"https://", b":8317", b"pullcall=", b"same-origin",
     b"[::1]", b"\n"),
    longest=4000,
)  # fmt: skip

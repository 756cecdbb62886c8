"""A rival on the same network attacks a real daemon, by its address on that network.

Where this machine has no other address than loopback it is reached by its announced name, under
which even this machine is a stranger. What is tried against the application alone stands in
tests/api; what came of all of it in docs/reliability/rival.md.
"""

from __future__ import annotations

import asyncio
import re
import socket
import ssl
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
import requests

from pullcall.network.addresses import own_addresses
from tests.integration.asked_as import NAME, Asked, asked

pytestmark = [pytest.mark.integration, pytest.mark.xdist_group("rival")]


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the daemon's journal goes."""
    return tmp_path_factory.mktemp("rival") / "said"


@pytest.fixture(scope="module")
def site(said: Path) -> Iterator[Asked]:
    state = said.parent
    (state / "pullcall.toml").write_text(
        "[bluetooth]\nenabled = false\n[loudspeaker]\nenabled = false\n"
    )
    config, log = str(state / "pullcall.toml"), str(state / "cooks.db")
    with asked(state, "serve", "--config", config, "--log", log) as site:
        yield site


def _place() -> tuple[str, str]:
    """Where the daemon is reached, and what it is called there."""
    found = [str(one) for one in own_addresses() if one.version == 4]
    return (found[0], found[0]) if found else ("127.0.0.1", NAME)


class Wire:
    """A connection of the rival's, on which it says what it likes."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.reader = reader
        self._writer = writer

    async def say(self, *parts: bytes) -> None:
        self._writer.write(b"".join(parts))
        await self._writer.drain()

    async def answer(self) -> bytes:
        """Everything until the daemon closes; a reset is an end too."""
        heard = b""
        try:
            async with asyncio.timeout(60):
                while part := await self.reader.read(65536):
                    heard += part
        except ConnectionError:
            pass
        return heard


@asynccontextmanager
async def wire(site: Asked, port: int | None = None) -> AsyncIterator[Wire]:
    address, _ = _place()
    context = ssl.create_default_context()
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    own = port is None
    reader, writer = await asyncio.open_connection(
        address, site.port if own else port, ssl=context if own else None
    )
    try:
        yield Wire(reader, writer)
    finally:
        writer.transport.abort()


def head(site: Asked, line: str, *headers: str) -> bytes:
    host = f"Host: {_place()[1]}:{site.port}"
    return "\r\n".join([line, host, *headers, "", ""]).encode("latin-1")


def _marks(site: Asked) -> list[object]:
    told = requests.get(f"{site.here}/api/v1/snapshot", timeout=20).json()
    return list(told["marks"])


async def status(site: Asked, line: str, *headers: str, body: bytes = b"") -> int:
    """What one request is answered."""
    async with wire(site) as rival:
        await rival.say(head(site, line, "Connection: close", *headers), body)
        answer = await rival.answer()
    found = re.match(rb"HTTP/1.1 (\d{3})", answer)
    assert found, answer[:80]
    return int(found[1])


async def test_from_the_network_it_is_nobody(site: Asked) -> None:
    assert await status(site, "GET /api/v1/visitor HTTP/1.1") == 200
    assert await status(site, "GET /api/v1/snapshot HTTP/1.1") == 401
    for header in ("X-Forwarded-For: 127.0.0.1", "Forwarded: for=127.0.0.1", "X-Real-IP: ::1"):
        assert await status(site, "GET /api/v1/snapshot HTTP/1.1", header) == 401


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "[::1]", "evil.example", "a@b"])
async def test_a_host_of_its_choice_gets_it_nowhere(site: Asked, host: str) -> None:
    """DNS rebinding, and posing as this machine's own browser."""
    async with wire(site) as rival:
        lines = ("GET /api/v1/snapshot HTTP/1.1", f"Host: {host}", "Connection: close", "", "")
        await rival.say("\r\n".join(lines).encode())
        assert b" 421 " in (await rival.answer()).splitlines()[0]


async def test_a_second_host_and_a_smuggled_request_are_no_requests(site: Asked) -> None:
    marks = b'{"mark": "lid_open"}'
    inner = head(site, "POST /api/v1/marks HTTP/1.1", f"Content-Length: {len(marks)}") + marks
    assert await status(site, "GET / HTTP/1.1", "Host: other") == 400
    two = ("Content-Length: 4", f"Content-Length: {len(inner)}")
    assert await status(site, "POST /api/v1/pairings HTTP/1.1", *two, body=inner) == 400
    for coding in ("xchunked", "chunked, identity", "gzip"):
        line = "POST /api/v1/pairings HTTP/1.1"
        refused = await status(site, line, f"Transfer-Encoding: {coding}", body=inner)
        assert refused in (400, 501), coding
    both = ("Content-Length: 4", "Transfer-Encoding: chunked")
    async with wire(site) as rival:
        await rival.say(head(site, "POST /api/v1/pairings HTTP/1.1", *both), b"0\r\n\r\n", inner)
        await rival.say(head(site, "GET /nothing HTTP/1.1", "Connection: close"))
        answer = await rival.answer()
    assert b" 201 " not in answer
    assert await asyncio.to_thread(_marks, site) == []


@pytest.mark.parametrize(
    "path",
    [
        "/page/../app.py",
        "/page/..%2fapp.py",
        "/page/%2e%2e/%2e%2e/pyproject.toml",
        "/page//etc/passwd",
        "/page/%2fetc%2fpasswd",
        "/page/..%5c..%5capp.py",
        "/page/style.css%00.js",
        "/page/C:%5Cwindows",
        "/page/CON",
        "/page/" + "a/" * 4000,
        "/page/v-0123456789ab/%2e%2e/%2e%2e/app.py",
        "//etc/passwd",
    ],
    ids=lambda path: path[:40],
)
async def test_no_path_leads_to_another_file(site: Asked, path: str) -> None:
    assert await status(site, f"GET {path} HTTP/1.1") in (404, 400, 414)


async def test_heads_that_have_no_end_are_ended(site: Asked) -> None:
    async with wire(site) as rival:
        await rival.say(head(site, "GET / HTTP/1.1")[:-2])
        for number in range(4000):
            try:
                await rival.say(f"X-{number}: {'a' * 40}\r\n".encode())
            except ConnectionError:
                break
        answer = await rival.answer()
    assert b" 200 " not in answer.partition(b"\r\n")[0]


async def test_older_tls_is_not_spoken_and_a_session_carries_no_right(site: Asked) -> None:
    """ASVS 12.1.1; a revoked phone that resumes its TLS is a stranger like any other."""
    address, _ = _place()

    def shaken(context: ssl.SSLContext, session: ssl.SSLSession | None = None) -> ssl.SSLSocket:
        context.check_hostname = False
        context.verify_mode = ssl.CERT_NONE
        plain = socket.create_connection((address, site.port), 20)
        return context.wrap_socket(plain, server_hostname=address, session=session)

    old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    old.minimum_version = ssl.TLSVersion.TLSv1_2
    old.maximum_version = ssl.TLSVersion.TLSv1_2
    old.set_ciphers("AES128-SHA:@SECLEVEL=0")
    with pytest.raises(ssl.SSLError):
        await asyncio.to_thread(shaken, old)

    def resumed() -> tuple[bool, bytes]:
        context = ssl.create_default_context()
        with requests.Session() as here:
            asks = {"role": "watcher"}
            invited = here.post(f"{site.here}/api/v1/invitations", json=asks, timeout=20).json()
        phone = site.client(200)
        secret = invited["links"][0].partition("#k=")[2]
        paired = phone.post(f"{site.away}/api/v1/pairings", json={"secret": secret}, timeout=20)
        cookie = paired.headers["set-cookie"].partition(";")[0]
        asked = head(site, "GET /api/v1/snapshot HTTP/1.1", f"Cookie: {cookie}")
        with shaken(context) as first:
            first.sendall(asked)
            assert b" 200 " in first.recv(64)
            session = first.session
        requests.delete(f"{site.here}/api/v1/invitations/{invited['id']}", timeout=20)
        with shaken(context, session) as second:
            second.sendall(asked)
            return second.session_reused or False, second.recv(64)

    _, answer = await asyncio.to_thread(resumed)
    assert b" 401 " in answer


async def test_its_nonsense_writes_little_into_the_journal_and_nothing_of_its_own(
    site: Asked, said: Path
) -> None:
    before = await asyncio.to_thread(said.read_text)
    forged = b"GET /\x1b[2J\rleft: paired as cook HTTP/1.1\r\n\r\n"

    async def nonsense() -> None:
        async with wire(site) as rival:
            await rival.say(forged)
            await rival.answer()

    for _ in range(60):
        await nonsense()
    for _ in range(40):
        await status(site, "GET / HTTP/1.1", "Connection: Upgrade", "Upgrade: \x1b[31mh2c")
    for number in range(12):
        body = f'{{"code": "{number:08}", "name": "\\u001b[31m"}}'.encode()
        length = f"Content-Length: {len(body)}"
        kind = "Content-Type: application/json"
        await status(site, "POST /api/v1/pairings HTTP/1.1", length, kind, body=body)
    written = (await asyncio.to_thread(said.read_text)).removeprefix(before)
    assert all(line.isprintable() for line in written.splitlines())
    assert "paired as cook" not in written
    assert len(written.splitlines()) < 100


async def test_after_all_of_it_the_cook_is_let_in_and_marks(site: Asked) -> None:
    """Whatever was closed by guessing: a new invitation of the cook's pairs at once."""
    phone = next(site.phones("cook"))
    asked = {"mark": "lid_open"}
    answer = phone.post(f"{site.away}/api/v1/marks", json=asked, timeout=20)
    assert answer.status_code == 201, answer.text

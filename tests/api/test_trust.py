"""Plain http shows how to trust the certificate, and leads to the page and to nowhere else."""

from __future__ import annotations

import asyncio
import re
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from ipaddress import ip_address

import httpx
import pytest
import uvicorn
from starlette.types import Message

from pullcall.access.limits import OF_FILES
from pullcall.api.trust import create_trust_app

NAMES = ("pullcall.local", "pit")
ADDRESSES = tuple(map(ip_address, ("192.168.1.20", "fd00::2")))
HERE = "192.168.1.20"
ANDROID = (
    "Mozilla/5.0 (Linux; Android 14; K) AppleWebKit/537.36 Chrome/130.0.0.0 Mobile Safari/537.36"
)
IPHONE = "Mozilla/5.0 (iPhone; CPU iPhone OS 18_1 like Mac OS X) AppleWebKit/605.1.15 Safari/604.1"
WINDOWS = "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 Chrome/130.0.0.0"
MAC = "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 Version/18.1 Safari"
LINUX = "Mozilla/5.0 (X11; Linux x86_64; rv:132.0) Gecko/20100101 Firefox/132.0"


@dataclass
class Certificate:
    """What the page is served with: an authority, or none."""

    fingerprint: str | None = "15F5 88BE <b>& 5F30"
    authority_der: bytes | None = b"\x30\x82der"


MADE_HERE = Certificate()
OWN_FILES = Certificate(None, None)


def phone(
    certificate: Certificate = MADE_HERE, came_in_by: str = HERE, browser: str = ""
) -> httpx.AsyncClient:
    """A phone whose connection came in by one of the machine's addresses."""
    app = create_trust_app(certificate, NAMES, 8317, lambda: 0.0, lambda: ADDRESSES)
    host = f"[{came_in_by}]" if ":" in came_in_by else came_in_by
    return httpx.AsyncClient(
        transport=httpx.ASGITransport(app=app),
        base_url=f"http://{host}:8318",
        headers={"User-Agent": browser},
    )


async def location(path: str, host: str | None = None, came_in_by: str = HERE) -> str:
    """Where a request is led that names ``host``."""
    async with phone(came_in_by=came_in_by) as client:
        answer = await client.get(path, headers={} if host is None else {"Host": host})
    assert answer.status_code == 307
    return answer.headers["location"]


async def test_the_page_shows_the_fingerprint_and_the_way_in() -> None:
    async with phone() as client:
        answer = await client.get("/")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert answer.headers["cache-control"] == "no-store"
    assert 'href="https://192.168.1.20:8317/"' in answer.text
    assert "$" not in answer.text


async def test_what_is_filled_in_cannot_become_markup() -> None:
    async with phone() as client:
        text = (await client.get("/")).text
    assert "15F5 88BE &lt;b&gt;&amp; 5F30" in text


async def test_the_authority_comes_as_phones_take_it_in() -> None:
    async with phone() as client:
        answer = await client.get("/authority.crt")
    assert answer.headers["content-type"] == "application/x-x509-ca-cert"
    assert answer.content == b"\x30\x82der"


async def test_the_page_allows_no_script_and_nothing_from_elsewhere() -> None:
    async with phone() as client:
        for path in ("/", "/page/trust.css", "/authority.crt"):
            answer = await client.get(path)
            policy = answer.headers["content-security-policy"]
            assert "default-src 'self'" in policy
            assert "frame-ancestors 'none'" in policy
            assert answer.headers["x-content-type-options"] == "nosniff"
        text = (await client.get("/")).text
    assert "<script" not in text
    assert not re.search(r"\s(style|on\w+)=", text)


async def test_every_file_that_the_page_names_is_served() -> None:
    async with phone() as client:
        text = (await client.get("/")).text
        named = re.findall(r'(?:href|src)="((?!https:)[^"#]+)"', text)
        assert "page/trust.css" in named
        assert "authority.crt" in named
        for path in named:
            assert (await client.get(f"/{path}")).status_code == 200, path


@pytest.mark.parametrize(
    ("browser", "heading"),
    [
        (ANDROID, "Android"),
        (IPHONE, "iPhone and iPad"),
        (WINDOWS, "Windows"),
        (MAC, "macOS"),
        (LINUX, "Linux, and Firefox on any computer"),
    ],
)
async def test_the_list_for_the_system_that_asks_is_open(browser: str, heading: str) -> None:
    async with phone(browser=browser) as client:
        text = (await client.get("/")).text
    assert re.findall(r"<details open>\s*<summary>(.*?)</summary>", text) == [heading]
    assert text.count("<details") == 5


async def test_an_unknown_browser_finds_all_lists_shut() -> None:
    async with phone(browser='"><script>') as client:
        text = (await client.get("/")).text
    assert "<details open>" not in text
    assert "<script>" not in text


# The way to the page


@pytest.mark.parametrize(
    ("host", "page"),
    [
        ("192.168.1.20:8318", "https://192.168.1.20:8317/"),
        ("192.168.1.20", "https://192.168.1.20:8317/"),
        ("[fd00::2]:8318", "https://[fd00::2]:8317/"),
        ("[fd00:0:0::2]:8318", "https://[fd00::2]:8317/"),
        ("pullcall.local:8318", "https://pullcall.local:8317/"),
        ("PIT:8318", "https://pit:8317/"),
        ("localhost:8318", "https://localhost:8317/"),
        ("127.0.0.1:8318", "https://127.0.0.1:8317/"),
    ],
)
async def test_a_phone_is_led_to_the_host_it_asked_for(host: str, page: str) -> None:
    assert await location("/api/v1/snapshot?a=1", host) == page
    async with phone() as client:
        text = (await client.get("/", headers={"Host": host})).text
    assert f'href="{page}"' in text


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:8318",
        "192.168.1.20.evil.example",
        "pullcall.local.evil.example",
        "192.168.1.99:8318",
        "8.8.8.8",
        "[2001:db8::9]:8318",
        "pullcall.local@evil.example",
        "evil.example/pullcall.local",
        'x"><b>.example',
        "",
        ":8318",
        "[",
        "[]:8318",
    ],
)
async def test_nobody_is_led_to_a_host_that_is_not_this_machine(host: str) -> None:
    assert await location("/anything", host) == "https://192.168.1.20:8317/"
    async with phone() as client:
        text = (await client.get("/", headers={"Host": host})).text
    assert 'href="https://192.168.1.20:8317/"' in text
    assert "evil" not in text


@pytest.mark.parametrize(
    "path", ["/x", "//evil.example/", "/%2f%2fevil.example", "/?next=https://evil.example/", "/\\x"]
)
async def test_the_path_does_not_change_where_it_leads(path: str) -> None:
    async with phone(OWN_FILES) as client:
        answer = await client.get(
            httpx.URL(f"http://{HERE}:8318").copy_with(raw_path=path.encode())
        )
    assert (answer.status_code, answer.headers["location"]) == (307, "https://192.168.1.20:8317/")


@pytest.mark.parametrize(
    ("came_in_by", "page"),
    [
        ("fd00::2", "https://[fd00::2]:8317/"),
        ("::ffff:192.168.1.20", "https://192.168.1.20:8317/"),
        ("fe80::1", "https://192.168.1.20:8317/"),
        ("10.1.2.3", "https://10.1.2.3:8317/"),
    ],
)
async def test_a_strange_host_is_led_to_the_address_it_came_in_by(
    came_in_by: str, page: str
) -> None:
    assert await location("/x", "evil.example", came_in_by) == page


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "HEAD", "OPTIONS"])
async def test_whatever_is_asked_elsewhere_is_led_there_too(method: str) -> None:
    async with phone() as client:
        answer = await client.request(method, "/api/v1/pairings", json={"code": "12345678"})
    assert (answer.status_code, answer.headers["location"]) == (307, "https://192.168.1.20:8317/")


@pytest.mark.parametrize("path", ["/", "/authority.crt", "/page/trust.css"])
async def test_with_a_certificate_of_the_cooks_own_there_is_nothing_to_trust(path: str) -> None:
    async with phone(OWN_FILES) as client:
        answer = await client.get(path)
    assert (answer.status_code, answer.headers["location"]) == (307, "https://192.168.1.20:8317/")


async def test_only_the_pages_own_files_are_served() -> None:
    async with phone() as client:
        for path in ("/page/..%2ftrust.py", "/page/%2e%2e/trust.py", "/page/", "/page/none.css"):
            assert (await client.get(path)).status_code in (404, 307), path


async def test_one_address_cannot_ask_without_end_and_slows_no_other() -> None:
    """A rival asks as fast as it can; the clock stands still."""
    app = create_trust_app(MADE_HERE, NAMES, 8317, lambda: 0.0, lambda: ADDRESSES)

    async def asked(address: str, times: int) -> list[int]:
        transport = httpx.ASGITransport(app=app, client=(address, 50000))
        async with httpx.AsyncClient(transport=transport, base_url=f"http://{HERE}:8318") as client:
            return [(await client.get("/nothing")).status_code for _ in range(times)]

    rival = await asked("192.168.1.66", OF_FILES.burst + 3)
    assert rival[OF_FILES.burst - 1 :] == [307, 429, 429, 429]
    assert await asked("192.168.1.7", 1) == [307]


async def test_a_websocket_is_not_opened() -> None:
    app = create_trust_app(MADE_HERE, NAMES, 8317, lambda: 0.0, lambda: ADDRESSES)
    answers: list[Message] = []

    async def connect() -> Message:
        return {"type": "websocket.connect"}

    async def send(message: Message) -> None:
        answers.append(message)

    scope = {"type": "websocket", "path": "/api/v1/stream", "headers": [], "subprotocols": []}
    await app(scope, connect, send)
    assert [answer["type"] for answer in answers] == ["websocket.close"]


@asynccontextmanager
async def listening() -> AsyncIterator[int]:
    """The application behind the real server, on a loopback port."""
    app = create_trust_app(MADE_HERE, NAMES, 8317, lambda: 0.0, lambda: ADDRESSES)
    with socket.create_server(("127.0.0.1", 0)) as listener:
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", lifespan="off"))
        serving = asyncio.create_task(server.serve(sockets=[listener]))
        yield listener.getsockname()[1]
        server.should_exit = True
        await serving


async def test_the_real_server_tells_by_which_address_a_request_came_in() -> None:
    async with listening() as port:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(b"GET /x HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n")
        async with asyncio.timeout(60):
            answer = (await reader.read()).decode()
        writer.close()
    assert answer.startswith("HTTP/1.1 307 ")
    assert "location: https://127.0.0.1:8317/\r\n" in answer

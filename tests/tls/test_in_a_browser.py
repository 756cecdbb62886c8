"""A real browser that trusts the authority opens the site as a secure one, and no other site."""

from __future__ import annotations

import asyncio
import os
import socket
import ssl
import subprocess
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import BrowserContext, Error, sync_playwright
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from pullcall.tls.context import server_context
from pullcall.tls.credential import from_pem
from pullcall.tls.keeper import CertificateKeeper
from tests.set_clock import SetClock
from tests.tls.forgery import forged
from tests.tools import require_tool

pytestmark = pytest.mark.integration

NAMES = ("pullcall.local", "pit")
PUBLIC = "bank.example.com"
ARGS = [
    "--no-sandbox",
    "--no-first-run",
    "--disable-background-networking",
    f"--host-resolver-rules={','.join(f'MAP {name} 127.0.0.1' for name in (*NAMES, PUBLIC))}",
]
#: What a phone needs to keep its screen on, and to open the page without the link.
SECURE = """async () => ({
  secure: isSecureContext,
  awake: 'wakeLock' in navigator,
  worker: await navigator.serviceWorker.register('/worker.js').then(() => true, () => false),
})"""


@dataclass
class Site:
    """A site with its authority, and a browser's own folder."""

    keeper: CertificateKeeper
    folder: Path
    browser: str
    certutil: str

    def trust(self) -> None:
        """Put the authority where the browser looks for those its user trusts."""
        store = self.folder / ".pki" / "nssdb"
        store.mkdir(parents=True)
        (self.folder / "authority.crt").write_bytes(self.keeper.authority_der)
        self._certutil(store, "-N", "--empty-password")
        file = str(self.folder / "authority.crt")
        self._certutil(store, "-A", "-n", "pullcall", "-t", "C,,", "-i", file)

    def _certutil(self, store: Path, *options: str) -> None:
        subprocess.run([self.certutil, "-d", f"sql:{store}", *options], check=True, timeout=60)


@pytest.fixture
def site(tmp_path: Path) -> Site:
    browser = require_tool("chromium", "chromium")
    certutil = require_tool("certutil", "libnss3-tools")
    clock = SetClock(datetime.now(UTC))
    keeper = CertificateKeeper(tmp_path / "tls", NAMES, clock, lambda: ())
    return Site(keeper, tmp_path, browser, certutil)


@pytest.fixture
def context(site: Site) -> Iterator[Callable[[], BrowserContext]]:
    ends: list[Callable[[], None]] = []

    def start() -> BrowserContext:
        playwright = sync_playwright().start()
        ends.append(playwright.stop)
        context = playwright.chromium.launch_persistent_context(
            site.folder / "profile",
            executable_path=site.browser,
            env={**os.environ, "HOME": str(site.folder)},
            args=ARGS,
        )
        ends.append(context.close)
        return context

    yield start
    for end in reversed(ends):
        end()


@pytest.fixture
def serve() -> Iterator[Callable[[ssl.SSLContext], int]]:
    ends: list[Callable[[], None]] = []

    def start(context: ssl.SSLContext) -> int:
        listener = socket.create_server(("127.0.0.1", 0))
        config = uvicorn.Config(_app(), log_level="warning", lifespan="off")
        config.load()
        config.ssl = context
        server = uvicorn.Server(config)
        work: Any = server.serve(sockets=[listener])
        thread = threading.Thread(target=asyncio.run, args=(work,), daemon=True)
        thread.start()

        def stop() -> None:
            server.should_exit = True
            thread.join(10)
            listener.close()

        ends.append(stop)
        port: int = listener.getsockname()[1]
        return port

    yield start
    for end in ends:
        end()


def _app() -> Starlette:
    async def index(request: Request) -> HTMLResponse:
        return HTMLResponse("<!doctype html><title>Site</title>")

    async def worker(request: Request) -> Response:
        return Response("self.onfetch = () => {};", media_type="text/javascript")

    return Starlette(routes=[Route("/", index), Route("/worker.js", worker)])


def test_with_trust_every_name_is_a_secure_place(
    site: Site, context: Callable[[], BrowserContext], serve: Callable[[ssl.SSLContext], int]
) -> None:
    site.trust()
    port = serve(site.keeper.context())
    page = context().new_page()
    for name in ("127.0.0.1", *NAMES):
        page.goto(f"https://{name}:{port}/")
        assert page.evaluate(SECURE) == {"secure": True, "awake": True, "worker": True}, name


def test_without_trust_the_browser_warns(
    site: Site, context: Callable[[], BrowserContext], serve: Callable[[ssl.SSLContext], int]
) -> None:
    port = serve(site.keeper.context())
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        context().new_page().goto(f"https://pullcall.local:{port}/")


def test_trust_does_not_reach_a_public_site(
    site: Site, context: Callable[[], BrowserContext], serve: Callable[[ssl.SSLContext], int]
) -> None:
    site.trust()
    authority = from_pem((site.folder / "tls" / "authority.pem").read_bytes())
    forgery = site.folder / "forged.pem"
    forgery.write_bytes(forged(authority, [PUBLIC], []).to_pem())
    tls = server_context()
    tls.load_cert_chain(forgery)
    port = serve(tls)
    with pytest.raises(Error, match="ERR_CERT_INVALID"):
        context().new_page().goto(f"https://{PUBLIC}:{port}/")

"""Fixtures of the page's tests: the browser, and a way to open the page on a scripted site."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser import browser
from tests.page.fake_app import COOKIE
from tests.page.fake_site import Site
from tests.page.open_board import look
from tests.page.patience import HANG_MS
from tests.page.visit import PHONE, WATCH, Open, Visit, serve

__all__ = ["browser", "look", "visit"]


@pytest.fixture
def visit(browser: Browser) -> Iterator[Open]:
    ends = ExitStack()

    def open_page(
        size: tuple[int, int] = PHONE,
        before: Callable[[Page], None] | None = None,
        path: str = "/",
        cookie: str | None = None,
        worker: bool = False,
        lanes: bool = True,
        **script: Any,
    ) -> Visit:
        """``cookie`` is a pairing's; ``worker`` lets the page keep its own files.

        It is awaited that the page shows its ``lanes``, or the door to who is not paired.
        """
        site = Site(**script)
        port, stop = serve(site)
        ends.callback(stop)
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            service_workers="allow" if worker else "block",
        )
        ends.callback(context.close)
        context.set_default_timeout(HANG_MS)
        address = f"http://127.0.0.1:{port}"
        if cookie:
            context.add_cookies([{"name": COOKIE, "value": cookie, "url": address}])
        page = context.new_page()
        # What a test's own routes still have in hand as it ends is nothing to complain of.
        ends.callback(page.unroute_all, behavior="ignoreErrors")
        # Runs before the page's own scripts, so not one burst is missed.
        page.add_init_script(WATCH)
        if before:
            before(page)
        seen = Visit(site, page, port, stop)
        page.on("console", lambda m: seen.complaints.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda error: seen.complaints.append(str(error)))
        page.on("request", lambda request: seen.hosts.add(urlsplit(request.url).netloc))
        page.on("websocket", lambda socket: seen.hosts.add(urlsplit(socket.url).netloc))
        page.goto(address + path)
        if lanes:
            expect(page.locator("#door:not([hidden]), .lane0").first).to_be_visible()
        return seen

    with ends:
        yield open_page

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
from tests.page.visit import PHONE, WATCH, Open, Visit, serve
from tests.page.window import Window

__all__ = ["browser", "look", "visit", "window"]


@pytest.fixture(scope="module")
def window(browser: Browser) -> Iterator[Window]:
    window = Window(browser)
    yield window
    window.close()


@pytest.fixture
def visit(window: Window) -> Iterator[Open]:
    ends = ExitStack()

    def open_page(
        size: tuple[int, int] = PHONE,
        before: Callable[[Page], None] | None = None,
        path: str = "/",
        cookie: str | None = None,
        worker: bool = False,
        alone: bool = False,
        lanes: bool = True,
        **script: Any,
    ) -> Visit:
        """``cookie`` is a pairing's; ``worker`` and ``alone`` as :meth:`Window.open` has them.

        It is awaited that the page shows its ``lanes``, or the door to who is not paired.
        """
        site = Site(**script)
        opened = ends.enter_context(window.open(size, alone=alone, worker=worker))
        page = opened.page
        port, stop = serve(site, opened.port)
        ends.callback(stop)
        ends.callback(opened.close)
        address = f"http://127.0.0.1:{port}"
        if cookie:
            page.context.add_cookies([{"name": COOKIE, "value": cookie, "url": address}])
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
            _await_lanes(seen)
        return seen

    with ends:
        yield open_page


def _await_lanes(seen: Visit) -> None:
    try:
        expect(seen.page.locator("#door:not([hidden]), .lane0").first).to_be_visible()
    except AssertionError as exc:
        exc.add_note(f"The browser complained of: {seen.complaints}")
        raise

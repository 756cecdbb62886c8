"""The browser's window that the tests of one file share.

To load and to compile the page's sixty files takes most of what a test of the page costs; their
addresses name their version, and are kept for a year. So the window, and the port that its pages
come from, stay. All else that a page can leave behind is taken away between two tests.
"""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from playwright.sync_api import Browser, BrowserContext, Page

from tests.page.patience import HANG_MS
from tests.page.visit import PHONE


@dataclass(frozen=True, slots=True)
class Opened:
    """An empty page, and the port on which its site is to be served (0: any)."""

    page: Page
    port: int

    def close(self) -> None:
        """Close the page and all that it opened: before the site ends, which waits for them."""
        # What a test's own routes still have in hand as it ends is nothing to complain of.
        self.page.unroute_all(behavior="ignoreErrors")
        for page in self.page.context.pages:
            page.close()


class Window:
    """Lent to one page at a time: whoever opens another one gets a window of its own."""

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._context = _new_context(browser)
        self._is_lent = False
        # Bound and never listening: between two tests nobody else is handed the port, and
        # nobody is answered there.
        self._place = socket.socket()
        self._place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self._place.bind(("127.0.0.1", 0))

    @contextmanager
    def open(
        self, size: tuple[int, int] = PHONE, *, alone: bool = False, worker: bool = False
    ) -> Iterator[Opened]:
        """An empty page of this size. ``alone``: in a window that no other test ever sees, for what
        is installed for a window and not a page. ``worker``: such a one, whose pages may keep
        their own files."""
        if alone or worker or self._is_lent:
            with _new_context(self._browser, worker=worker) as context:
                yield Opened(_new_page(context, size), 0)
            return
        self._is_lent = True
        try:
            page = _new_page(self._context, size)
            self._wipe(page)
            yield Opened(page, self._port)
        finally:
            self._is_lent = False

    def close(self) -> None:
        self._context.close()
        self._place.close()

    @property
    def _port(self) -> int:
        return int(self._place.getsockname()[1])

    def _wipe(self, page: Page) -> None:
        """Take away what pages before this one stored."""
        self._context.clear_cookies()
        session = self._context.new_cdp_session(page)
        origin = {"origin": f"http://127.0.0.1:{self._port}", "storageTypes": "all"}
        session.send("Storage.clearDataForOrigin", origin)
        session.detach()


def _new_context(browser: Browser, *, worker: bool = False) -> BrowserContext:
    context = browser.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]},
        service_workers="allow" if worker else "block",
    )
    context.set_default_timeout(HANG_MS)
    return context


def _new_page(context: BrowserContext, size: tuple[int, int]) -> Page:
    page = context.new_page()
    if size != PHONE:
        page.set_viewport_size({"width": size[0], "height": size[1]})
    return page

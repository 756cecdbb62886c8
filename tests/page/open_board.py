"""A board's page, opened on a scripted board: what the tests of that page share."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, Locator, Page

from tests.page.fake_board import Board, make_board
from tests.page.visit import PHONE, serve_app


@dataclass
class Look:
    """One open page, its board, and what the browser complained of."""

    board: Board
    page: Page
    address: str
    complaints: list[str] = field(default_factory=list)

    def row(self, name: str) -> Locator:
        return self.page.get_by_role("link", name=name)

    def names(self) -> list[str]:
        """The sites that are shown, from the first on."""
        return self.page.locator(".site:not([hidden]) .sitename").all_inner_texts()


LookAt = Callable[..., Look]


@pytest.fixture
def look(browser: Browser) -> Iterator[LookAt]:
    ends: list[Callable[[], None]] = []

    def open_page(
        board: Board,
        size: tuple[int, int] = PHONE,
        path: str = "/",
        before: Callable[[Page], None] | None = None,
    ) -> Look:
        port, stop = serve_app(make_board(board))
        ends.append(stop)
        context = browser.new_context(viewport={"width": size[0], "height": size[1]})
        ends.append(context.close)
        page = context.new_page()
        if before:
            before(page)
        seen = Look(board, page, f"http://127.0.0.1:{port}/")
        page.on("console", lambda m: seen.complaints.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda error: seen.complaints.append(str(error)))
        page.goto(seen.address.removesuffix("/") + path)
        return seen

    yield open_page
    for end in reversed(ends):
        end()

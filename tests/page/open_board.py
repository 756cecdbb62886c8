"""A board's page, opened on a scripted board: what the tests of that page share."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Locator, Page

from tests.page.fake_board import Board, make_board
from tests.page.visit import PHONE, serve_app
from tests.page.window import Window


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
def look(window: Window) -> Iterator[LookAt]:
    ends = ExitStack()

    def open_page(
        board: Board,
        size: tuple[int, int] = PHONE,
        path: str = "/",
        before: Callable[[Page], None] | None = None,
    ) -> Look:
        opened = ends.enter_context(window.open(size))
        page = opened.page
        port, stop = serve_app(make_board(board), opened.port)
        ends.callback(stop)
        ends.callback(opened.close)
        if before:
            before(page)
        seen = Look(board, page, f"http://127.0.0.1:{port}/")
        page.on("console", lambda m: seen.complaints.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda error: seen.complaints.append(str(error)))
        page.goto(seen.address.removesuffix("/") + path)
        return seen

    with ends:
        yield open_page

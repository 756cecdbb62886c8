"""What the pages of a board are fed from, and who asks for a row of it."""

from __future__ import annotations

from typing import Any, Protocol

from pullcall.api.board.glance import Glance
from pullcall.api.sight.feed import Feed, Shown
from pullcall.api.sight.whole import WholeFeed


class BoardFeed(Feed, Protocol):
    """One view of the board."""

    def row(self, site: str) -> dict[str, Any] | None:
        """The row of a site as it is shown; None where none is.

        Raises RefusedError while there is nothing to show.
        """


class WholeBoard(WholeFeed):
    """All of the board, at once; who polls sees it as it stood within the last half second."""

    def __init__(self, board: Shown, glance: Glance) -> None:
        """``glance`` is at the same board."""
        super().__init__(board, "board")
        self.snapshot = glance.line
        self.row = glance.row

"""What the API needs of a board."""

from __future__ import annotations

from typing import Annotated, Protocol

from fastapi import Depends
from fastapi.requests import HTTPConnection

from pullcall.api.sight.feed import Shown
from pullcall.supervision import Edges


class MirroredSite(Shown, Protocol):
    """A site as the board knows it."""

    @property
    def name(self) -> str:
        """What people call it."""


class ShownBoard(Shown, Protocol):
    """Many sites. Its snapshot is the body of the ``board`` message: unit, broker, rows."""

    @property
    def edges(self) -> Edges:
        """What goes on around the board, each part kept alone."""

    @property
    def own(self) -> Shown:
        """The same as this machine's own browser sees it."""

    def site(self, id: str) -> MirroredSite | None:
        """The site of that id; None where there is none (any more)."""


async def _board(connection: HTTPConnection) -> ShownBoard:
    board: ShownBoard = connection.app.state.board
    return board


#: The board, for routes that ask for it.
BoardHere = Annotated[ShownBoard, Depends(_board)]

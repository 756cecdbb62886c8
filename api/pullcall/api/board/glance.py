"""The board as it stands, worked out once for everybody who looks within the same half second."""

from __future__ import annotations

from typing import Any

from pullcall.api.sight.feed import Shown
from pullcall.clock import Clock
from pullcall.log.records import to_line

_GOOD_FOR_S = 0.5


class Glance:
    """Many who poll, or watch one site each, must not have all rows worked out for each of them."""

    def __init__(self, board: Shown, clock: Clock) -> None:
        self._board = board
        self._clock = clock
        self._seen: dict[str, Any] = {}
        self._line: str | None = None
        self._until = float("-inf")

    def now(self) -> float:
        """The board's own clock, seconds."""
        return self._board.now()

    def board(self) -> dict[str, Any]:
        """The ``board`` message, at most half a second old."""
        now = self._clock.monotonic()
        if now >= self._until:
            self._seen, self._until = self._board.snapshot(), now + _GOOD_FOR_S
            self._line = None
        return self._seen

    def line(self) -> str:
        """The same as it is sent."""
        board = self.board()
        if self._line is None:
            self._line = to_line(board)
        return self._line

    def row(self, site: str) -> dict[str, Any] | None:
        """The row of a site; None where there is none of that id."""
        return next((row for row in self.board()["rows"] if row["site"] == site), None)

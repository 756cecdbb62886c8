"""The board as it stands, worked out once for everybody who looks within the same half second."""

from __future__ import annotations

from typing import Any

from pullcall.api.board.shown_board import ShownBoard
from pullcall.clock import Clock

_GOOD_FOR_S = 0.5


class Glance:
    """Many watchers of one site each must not have all rows worked out for each of them."""

    def __init__(self, board: ShownBoard, clock: Clock) -> None:
        self._board = board
        self._clock = clock
        self._seen: dict[str, Any] = {}
        self._until = float("-inf")

    def now(self) -> float:
        """The board's own clock, seconds."""
        return self._board.now()

    def board(self) -> dict[str, Any]:
        """The ``board`` message, at most half a second old."""
        now = self._clock.monotonic()
        if now >= self._until:
            self._seen, self._until = self._board.snapshot(), now + _GOOD_FOR_S
        return self._seen

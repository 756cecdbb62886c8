"""The board as this machine's own browser sees it: whoever runs it is told what to mend."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pullcall.board.quiet_hub import QuietHub

Json = dict[str, Any]


class OwnSight:
    """As the board, but ``broker`` has its note whole: host, port and advice are for nobody else.

    ``snapshot`` gives the board as others see it, ``note`` what is said of the way to the broker.
    """

    def __init__(
        self, now: Callable[[], float], snapshot: Callable[[], Json], note: Callable[[], str]
    ) -> None:
        self.hub = QuietHub()
        self.now = now
        self._snapshot = snapshot
        self._note = note

    def snapshot(self) -> Json:
        """The ``board`` message."""
        board = self._snapshot()
        broker = {**board["broker"], "note": self._note()}
        return {**board, "epoch": self.hub.epoch, "seq": self.hub.seq, "broker": broker}

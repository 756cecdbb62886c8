"""One site as a board knows it, from what it published."""

from __future__ import annotations

from typing import Any

from pullcall.board.quiet_hub import QuietHub

Json = dict[str, Any]


class MirroredSite:
    """Answers a page as the site's own daemon would, read-only."""

    def __init__(self, id: str) -> None:
        self.id = id
        self.hub = QuietHub()

    @property
    def name(self) -> str:
        """What people call it."""
        raise NotImplementedError

    def now(self) -> float:
        """The cook's clock, seconds."""
        raise NotImplementedError

    def snapshot(self) -> Json:
        """Everything a page needs to start from, as docs/stream.md has it."""
        raise NotImplementedError

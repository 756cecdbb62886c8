"""One site as the pages that look at it through a board need it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pullcall.board.mirror import Mirror
from pullcall.board.quiet_hub import QuietHub

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class MirroredSite:
    """Answers a page as the site's own daemon would, read-only. ``clock`` is the board's."""

    mirror: Mirror
    clock: Callable[[], float]

    @property
    def id(self) -> str:
        """Its id, as in its topics."""
        return self.mirror.site

    @property
    def name(self) -> str:
        """What people call it."""
        return self.mirror.name

    @property
    def hub(self) -> QuietHub:
        """Its messages."""
        return self.mirror.hub

    def now(self) -> float:
        """The cook's clock, seconds."""
        return self.mirror.now(self.clock())

    def snapshot(self) -> Json:
        """Everything a page needs to start from."""
        return self.mirror.snapshot(self.clock())

"""A hub that costs nothing while nobody listens: a board mirrors many sites, and few are seen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pullcall.site.hub import Hub, Page

#: Messages still numbered and kept once the last page has left: it may only have lost its link.
_OWED = 300


class QuietHub(Hub):
    """As :class:`Hub`, but what is published while nobody listens, nor left a short while ago, is
    let go. Whoever resumes after that gets a fresh snapshot."""

    def __init__(self) -> None:
        super().__init__()
        self._owed = 0

    @property
    def is_watched(self) -> bool:
        """Whether publishing is of any use."""
        return self.count > 0 or self._owed > 0

    def leave(self, page: Page) -> None:
        """Forget a page; what follows is kept for a while for its return."""
        had = self.count
        super().leave(page)
        if had and not self.count:
            self._owed = _OWED

    def publish(self, type: str, body: Mapping[str, Any]) -> None:
        """Number a message, keep it, and hand it to everyone, if there is anyone."""
        if not self.is_watched:
            return
        super().publish(type, body)
        if self.count:
            return
        self._owed -= 1
        if not self._owed:
            self._fall_quiet()

    def _fall_quiet(self) -> None:
        """From here on messages are missed: nobody can resume from before."""
        self.seq += 1
        self._kept.clear()

"""Whether a site is there, from what it says and from its silence."""

from __future__ import annotations

import math
from enum import StrEnum

from pullcall.bus.payloads import Presence

#: A site that was not heard for this long is silent, seconds; its pulse comes each second.
SILENT_S = 5.0


class Reach(StrEnum):
    """How a site is reached."""

    HERE = "here"
    SILENT = "silent"
    LOST = "lost"
    GONE = "gone"


class Contact:
    """Times are the board's seconds; ``known_t`` is when it first heard of the site."""

    def __init__(self, known_t: float) -> None:
        self.heard_t: float | None = None
        self.name = ""
        self._known_t = known_t
        self._left: Reach | None = None
        self._left_t = -math.inf

    def hear(self, now: float) -> None:
        """The site itself spoke just now: whatever was said of it before, it is there."""
        self.heard_t = now
        self._left = None

    def told(self, presence: Presence, at: float) -> None:
        """What its presence says, as of ``at``."""
        self.name = presence.name or self.name
        self._left = None if presence.state == "here" else Reach(presence.state)
        self._left_t = at

    @property
    def left(self) -> Reach | None:
        """How it went, where it did: lost or gone."""
        return self._left

    def reach(self, now: float) -> Reach:
        """How it is reached now."""
        if self._left is not None:
            return self._left
        return Reach.SILENT if now > self.silent_t else Reach.HERE

    @property
    def silent_t(self) -> float:
        """When it becomes silent, or became so."""
        return (self._known_t if self.heard_t is None else self.heard_t) + SILENT_S

    @property
    def left_t(self) -> float:
        """When it left, or fell silent."""
        return self.silent_t if self._left is None else self._left_t

    def unheard_s(self, now: float) -> float:
        """For how long nothing has come from it."""
        return max(0.0, now - (self._known_t if self.heard_t is None else self.heard_t))

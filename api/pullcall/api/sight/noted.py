"""Everything as text, made once for all who come at about the same time."""

from __future__ import annotations

from typing import Any

from pullcall.api.sight.feed import Shown
from pullcall.log.records import to_line

#: What no message tells of may be this old, such as the age of a probe's packet, cook seconds.
_GOOD_FOR_S = 1.0


class Noted:
    """The snapshot of a site as a message: the very same for all until a message is published."""

    def __init__(self, site: Shown, start: str) -> None:
        """``start`` is the type of the message."""
        self._site = site
        self._start = start
        self._of: tuple[str, int] | None = None
        self._at = 0.0
        self._rest = ""
        self.speed = 1.0

    def line(self) -> str:
        """The message, with the time of now."""
        now = self._site.now()
        hub = self._site.hub
        age_s = now - self._at
        if self._of != (hub.epoch, hub.seq) or not 0.0 <= age_s < _GOOD_FOR_S:
            self._note(self._site.snapshot(), now)
        return f'{{"type":"{self._start}","t":{round(now, 3)},{self._rest}'

    def _note(self, snapshot: dict[str, Any], now: float) -> None:
        hub = self._site.hub
        # What is published while nobody is there has no number, so it would not be missed.
        self._of = (hub.epoch, hub.seq) if hub.is_watched else None
        self._at = now
        self.speed = snapshot["speed"]
        self._rest = to_line({k: v for k, v in snapshot.items() if k not in ("type", "t")})[1:]

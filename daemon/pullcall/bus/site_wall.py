"""What time of day it is at a site: the machine's, or what the cook set it to."""

from __future__ import annotations

from datetime import datetime, timedelta

from pullcall.bus.publication import Json

#: A snapshot tells the time in whole seconds and may have waited: so much says nothing.
_TOLD_WITHIN = timedelta(seconds=5.0)


class SiteWall:
    """How far the site's clock is from the machine's. Sans-I/O.

    Of a simulated cook it is the machine's: whoever hears it has no other.
    """

    def __init__(self) -> None:
        self._off = timedelta()
        self._is_live = False

    def learn(self, message: Json, machine: datetime) -> None:
        """Learn from one message of the stream that came at this time of the machine's."""
        kind = message["type"]
        if kind == "snapshot":
            self._is_live = message["mode"] == "live"
            told = datetime.fromisoformat(message["wall"]) - machine
            if abs(told - self._off) > _TOLD_WITHIN:
                self._off = told
        elif kind == "setting" and message["steak"] is None and message["name"] == "started":
            zero = datetime.fromisoformat(message["value"])
            self._off = zero + timedelta(seconds=message["t"]) - machine

    def at(self, machine: datetime) -> datetime:
        """The site's time of day at this time of the machine's."""
        return machine + self._off if self._is_live else machine

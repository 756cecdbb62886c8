"""Every site that a board has heard of."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pullcall.board.mirrored_site import MirroredSite
from pullcall.board.stamp import Stamp

Json = dict[str, Any]


class Roster:
    """Takes messages, keeps the sites, and puts their rows in order. Times are the board's own
    seconds."""

    def take(self, topic: str, payload: bytes, is_retained: bool, stamp: Stamp, now: float) -> None:
        """Take one message. One that makes no sense is counted and logged once, never raised."""
        raise NotImplementedError

    def site(self, id: str) -> MirroredSite | None:
        """The site of that id."""
        raise NotImplementedError

    def rows(self, now: float) -> list[Json]:
        """A row for each site, what needs somebody first."""
        raise NotImplementedError

    @property
    def messages(self) -> int:
        """Messages taken so far."""
        raise NotImplementedError

    @property
    def refused(self) -> int:
        """Messages of those that could not be used."""
        raise NotImplementedError

    def sites_by_state(self, now: float) -> Mapping[str, int]:
        """How many sites are here, silent, lost and gone."""
        raise NotImplementedError

"""Every site that a board has heard of."""

from __future__ import annotations

import logging
import math
from collections import Counter
from collections.abc import Container, Mapping
from typing import Any

from pydantic import BaseModel, ValidationError

from pullcall.board.contact import Reach
from pullcall.board.mirror import Mirror
from pullcall.board.order import Order
from pullcall.board.refusals import Refusals
from pullcall.board.row import row_of
from pullcall.board.stamp import Stamp
from pullcall.bus import channels
from pullcall.bus.channels import Place, place_of
from pullcall.bus.payloads import LARGEST

Json = dict[str, Any]
_log = logging.getLogger(__name__)

#: Sites kept at once; more are left out.
MOST_SITES = 1000
#: One that has left is forgotten after this, seconds.
_FORGOTTEN_S = 86_400.0
_READABLE = frozenset(channels.STATE)


class Roster:
    """Takes messages, keeps the sites, and puts their rows in order.

    Sans-I/O; times are the board's own seconds. Sites appear by themselves.
    """

    def __init__(self) -> None:
        self.messages = 0
        self.refusals = Refusals()
        self._mirrors: dict[str, Mirror] = {}
        self._places: dict[str, Place] = {}
        self._rows: dict[str, Json] = {}
        self._touched: set[str] = set()
        self._order = Order()
        self._open_since = math.inf

    def take(self, topic: str, payload: bytes, is_retained: bool, stamp: Stamp, now: float) -> None:
        """Take one message. One that makes no sense is counted and logged once, never raised."""
        self.messages += 1
        place = self._places.get(topic) or place_of(topic)
        if place is None or place.channel not in _READABLE:
            self.refusals.add("", "unknown", "its topic is none of a site's state")
            return
        if not payload and place.channel is channels.PRESENCE:
            self._forget(place.site)
            return
        content = self._read(place, payload)
        if content is None and payload:
            return
        mirror = self._mirror(place.site, now)
        if mirror is not None:
            self._places[topic] = place
            self._touched.add(place.site)
            mirror.take(place, content, is_retained, stamp, now)

    def site(self, id: str) -> Mirror | None:
        """The site of that id."""
        return self._mirrors.get(id)

    def cut_off(self) -> None:
        """The way to the broker is no more: with the next one, all that it keeps comes again."""
        self._open_since = math.inf
        for mirror in self._mirrors.values():
            mirror.cut_off()

    def follow(self, now: float) -> None:
        """Every topic is followed from now on."""
        self._open_since = now

    def settle(self, now: float, waiting: Container[str] = ()) -> None:
        """Bring every page up to date, and forget who left long ago, and what is known no more but
        of sites of which something is ``waiting`` to be taken."""
        for mirror in tuple(self._mirrors.values()):
            if self._is_forgotten(mirror, now):
                self._forget(mirror.site)
                continue
            if mirror.site not in waiting and mirror.forget_what_is_gone(now, self._open_since):
                self._touched.add(mirror.site)
            mirror.settle(now)

    def rows(self, now: float) -> list[Json]:
        """A row for each site, what needs somebody first."""
        self._rows = {site: row_of(mirror, now) for site, mirror in self._mirrors.items()}
        self._touched.clear()
        return self._order.sorted(self._rows.values(), now)

    def touched_rows(self, now: float) -> list[Json]:
        """The same, but only the rows of sites that said something since are worked out anew."""
        for site in self._touched & self._mirrors.keys():
            self._rows[site] = row_of(self._mirrors[site], now)
        self._touched.clear()
        return self._order.sorted(self._rows.values(), now)

    @property
    def refused(self) -> int:
        """Messages that could not be used."""
        return self.refusals.count

    def sites_by_state(self, now: float) -> Mapping[str, int]:
        """How many sites are here, silent, lost and gone."""
        found = Counter(str(mirror.contact.reach(now)) for mirror in self._mirrors.values())
        return {str(reach): found[str(reach)] for reach in Reach}

    def close(self) -> None:
        """Let the pages of every site go."""
        for mirror in self._mirrors.values():
            mirror.hub.close()

    def _read(self, place: Place, payload: bytes) -> BaseModel | None:
        """What a payload says; None where it is empty, or refused."""
        if len(payload) > LARGEST:
            self.refusals.add(place.site, place.channel.name, "it is too large")
            return None
        model = place.channel.payload
        try:
            return model.model_validate_json(payload) if payload and model else None
        except ValidationError:
            self.refusals.add(place.site, place.channel.name, "it cannot be read")
            return None

    def _mirror(self, site: str, now: float) -> Mirror | None:
        known = self._mirrors.get(site)
        if known is not None:
            return known
        if len(self._mirrors) >= MOST_SITES:
            self.refusals.add("", "site", f"more than {MOST_SITES} sites are not shown")
            return None
        self._mirrors[site] = Mirror(site, now)
        _log.info("Site %s is on the board.", site)
        return self._mirrors[site]

    def _is_forgotten(self, mirror: Mirror, now: float) -> bool:
        is_away = mirror.contact.reach(now) is not Reach.HERE
        return is_away and now - mirror.contact.left_t > _FORGOTTEN_S

    def _forget(self, site: str) -> None:
        mirror = self._mirrors.pop(site, None)
        if mirror is None:
            return
        mirror.hub.close()
        self._rows.pop(site, None)
        self._places = {t: place for t, place in self._places.items() if place.site != site}
        _log.info("Site %s is on the board no more.", site)

"""Which records of which cooks the broker has, and which come next."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime

from pullcall.bus.channels import RECORD
from pullcall.bus.cook_clock import CookClock
from pullcall.bus.publication import Json, Publication
from pullcall.bus.stamps import stamp

#: A record that is older than this when it is sent is late, seconds.
_LATE_S = 10.0
#: The number before that of a cook's header.
NOTHING = -1


class Following:
    """Follows the cook that runs, and those before it until the broker has all of them.

    ``positions`` are the numbers of the last confirmed records by the cook's id.
    """

    def __init__(self, site: str, positions: Mapping[str, int]) -> None:
        self._topic = RECORD.topic(site)
        self.positions = dict(positions)
        self._running: str | None = None
        self._clocks: dict[str, CookClock] = {}

    def runs(self, cook: str, clock: CookClock) -> None:
        """This cook runs now, and its clock stands so."""
        self._running = cook
        self._clocks[cook] = clock
        self.positions.setdefault(cook, NOTHING)

    def cooks(self) -> tuple[str, ...]:
        """Whose records may be missing, the running cook first: an old one delays it least."""
        return tuple(sorted(self.positions, key=lambda cook: cook != self._running))

    def confirmed(self, cook: str, number: int) -> None:
        """The broker has everything of this cook up to this record."""
        self.positions[cook] = number

    def caught_up(self, cook: str) -> None:
        """The log has nothing more of this cook: an old one is done with."""
        if cook != self._running:
            self.positions.pop(cook, None)
            self._clocks.pop(cook, None)

    def publication(
        self, cook: str, number: int, line: str, now: float, wall: datetime
    ) -> Publication:
        """One record as it is sent ``now``, monotonic seconds and the time of day."""
        user = stamp(cook, number)
        if self._is_late(cook, line, now, wall):
            user = (*user, ("late", "1"))
        return Publication(
            self._topic, line.encode(), RECORD.qos, RECORD.retained, RECORD.expires_s, user
        )

    def _is_late(self, cook: str, line: str, now: float, wall: datetime) -> bool:
        record = _parsed(line)
        if "wall" in record and "t" not in record:  # a note: it has no time of the cook
            return _since(record["wall"], wall) > _LATE_S
        clock = self._clocks.get(cook)
        return clock is None or clock.age_s(_number(record.get("t")), now) > _LATE_S


def _parsed(line: str) -> Json:
    """A record that came in from elsewhere may be anything."""
    try:
        record = json.loads(line)
    except (ValueError, RecursionError):
        return {}
    return record if isinstance(record, dict) else {}


def _number(t: object) -> float:
    """When a record was made, cook seconds; a header has no time, it is the first of all."""
    try:
        return float(t) if isinstance(t, int | float) else 0.0
    except OverflowError:  # an integer of hundreds of digits: a record of elsewhere
        return 0.0


def _since(text: object, wall: datetime) -> float:
    """Seconds since a wall time; infinity for what is none."""
    try:
        return (wall - datetime.fromisoformat(str(text))).total_seconds()
    except (ValueError, TypeError):
        return float("inf")

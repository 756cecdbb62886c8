"""What a board's pages are served from: every site, and the way to the broker."""

from __future__ import annotations

import asyncio
from typing import Any

from pullcall.board.bulletin import Bulletin
from pullcall.board.mirrored_site import MirroredSite
from pullcall.board.quiet_hub import QuietHub
from pullcall.board.roster import Roster
from pullcall.board.stamp import Stamp
from pullcall.board.subscriber import BrokerStatus, Subscriber
from pullcall.bus.options import BrokerOptions
from pullcall.clock import Clock
from pullcall.log.records import to_line
from pullcall.site.hub import Listener

Json = dict[str, Any]

#: Changes are gathered for this long before pages are told, seconds.
_GATHER_S = 0.1


class Board:
    """Follows all sites of a broker until :meth:`run` is cancelled.

    It is the feed of the board's own stream (see ``pullcall.api.sight.feed.Feed``), which has

    - ``hello`` {epoch, seq, t, speed: 1, resumed, broker}
    - ``board`` {epoch, seq, t, speed: 1, unit, broker: {state, note}, rows: [all, in order]} to
      start from, and whenever the way to the broker changes
    - ``rows`` {seq, t, rows: [those that changed], order: [every site's id]}
    - ``tick`` {t} each second

    Times ``t`` and ``…_t`` are seconds on the board's own clock.
    """

    def __init__(self, options: BrokerOptions, clock: Clock, unit: str = "F") -> None:
        self.hub = QuietHub()
        self.roster = Roster()
        self.unit = unit
        self._clock = clock
        self._bulletin = Bulletin(self.hub, self.roster)
        self._subscriber = Subscriber(options, clock, self._take, self._tell_all)

    @property
    def broker(self) -> BrokerStatus:
        """How the way to the broker is."""
        return self._subscriber.status

    @property
    def epoch(self) -> str:
        """Names the run of numbers that the stream belongs to."""
        return self.hub.epoch

    def now(self) -> float:
        """The board's own clock, seconds."""
        return self._clock.monotonic()

    def site(self, id: str) -> MirroredSite | None:
        """A site as its pages need it; None where there is none of that id (any more)."""
        mirror = self.roster.site(id)
        return None if mirror is None else MirroredSite(mirror, self.now)

    def snapshot(self) -> Json:
        """The ``board`` message as it is now: what ``GET /api/v1/sites`` answers."""
        now = self.now()
        return {
            "type": "board",
            "epoch": self.hub.epoch,
            "seq": self.hub.seq,
            "t": round(now, 3),
            "speed": 1,
            "unit": self.unit,
            "broker": self._broker(),
            "rows": self.roster.rows(now),
        }

    def greeting(self, epoch: str | None, since: int | None) -> list[str]:
        """Hello, then what was missed after ``since``, or the board."""
        missed = self.hub.missed(epoch, since)
        hello = {
            "type": "hello",
            "epoch": self.hub.epoch,
            "seq": self.hub.seq,
            "t": round(self.now(), 3),
            "speed": 1,
            "resumed": missed is not None,
            "broker": self._broker(),
        }
        return [to_line(hello), *([to_line(self.snapshot())] if missed is None else missed)]

    def join(self) -> Listener:
        """A new listener, from now on."""
        return self.hub.join()

    def leave(self, listener: Listener) -> None:
        """Forget a listener."""
        self.hub.leave(listener)

    async def run(self) -> None:
        """Follow the sites until cancelled; a broker that cannot be reached is tried again."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._subscriber.run(), name="subscriber")
            tasks.create_task(self._gather(), name="gather")

    def close(self) -> None:
        """Let every page go, of the board and of each site."""
        self.hub.close()
        self.roster.close()

    def _take(self, topic: str, payload: bytes, is_retained: bool, stamp: Stamp) -> None:
        self.roster.take(topic, payload, is_retained, stamp, self.now())

    def _broker(self) -> Json:
        return {"state": str(self.broker.state), "note": self.broker.note}

    def _tell_all(self) -> None:
        """Everything, for the way to the broker changed."""
        if self.hub.is_watched:
            self.hub.publish("board", self.snapshot())

    async def _gather(self) -> None:
        while True:
            now = self.now()
            self.roster.settle(now)
            self._bulletin.gather(now)
            await self._clock.sleep_until(now + _GATHER_S)

"""What a board's pages are served from: every site, and the way to the broker."""

from __future__ import annotations

from typing import Any

from pullcall.board.bulletin import Bulletin
from pullcall.board.intake import Intake, Message
from pullcall.board.mirrored_site import MirroredSite
from pullcall.board.own_sight import OwnSight
from pullcall.board.quiet_hub import QuietHub
from pullcall.board.roster import Roster
from pullcall.board.subscriber import BrokerState, BrokerStatus, Subscriber
from pullcall.bus.options import BrokerOptions
from pullcall.clock import Clock
from pullcall.log.records import to_line
from pullcall.site.hub import Follower, Listener, Page
from pullcall.supervision import Edges, Part, Trouble

Json = dict[str, Any]

#: Changes are gathered for this long before pages are told, seconds.
_GATHER_S = 0.1
#: What all but this machine's own browser are told of a broker that is not reached.
_NOT_REACHED = "The board does not reach its broker: it is tried again."


class Board:
    """Follows all sites of a broker until :meth:`run` is cancelled.

    It is the feed of the board's own stream (see ``pullcall.api.sight.feed.Feed``), which has

    - ``hello`` {epoch, seq, t, speed: 1, resumed, broker}
    - ``board`` {epoch, seq, t, speed: 1, unit, broker: {state, note}, rows: [all, in order]} to
      start from, and whenever the way to the broker changes
    - ``rows`` {seq, t, rows: [those that changed], order: [every site's id]}
    - ``tick`` {t} each second

    Times ``t`` and ``…_t`` are seconds on the board's own clock. ``own`` is the same for this
    machine's own browser.
    """

    def __init__(self, options: BrokerOptions, clock: Clock, unit: str = "F") -> None:
        self.hub = QuietHub()
        self.roster = Roster()
        self.unit = unit
        self.edges = Edges(clock)
        #: How the way to the broker is.
        self.broker = BrokerStatus()
        self._clock = clock
        self.own = OwnSight(self.now, self.snapshot, lambda: self.broker.note)
        self._bulletin = Bulletin(self.roster, self.hub, self.own.hub)
        self._intake = Intake(self.roster.refusals)
        self._subscriber = Subscriber(options, clock, self._intake, self._take, self.take_status)

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

    def follow(self) -> Follower:
        """A new follower, from now on."""
        return self.hub.follow()

    def leave(self, page: Page) -> None:
        """Forget a page."""
        self.hub.leave(page)

    async def run(self) -> None:
        """Follow the sites until cancelled; a broker that cannot be reached is tried again."""
        way, rows = Part("broker", self._subscriber.run), Part("rows", self._gather)
        await self.edges.keep(way, rows)

    def troubles(self) -> tuple[Trouble, ...]:
        """Every part around the board that does not go."""
        return self.edges.troubles()

    def close(self) -> None:
        """Let every page go, of the board and of each site."""
        self.hub.close()
        self.own.hub.close()
        self.roster.close()

    def take_status(self, status: BrokerStatus) -> None:
        """The way to the broker was made, or lost."""
        if status.state is BrokerState.OK:
            self.roster.follow(self.now())
        else:
            self.roster.cut_off()
        if status != self.broker:
            self.broker = status
            self._tell_all()

    def _take(self, message: Message) -> None:
        topic, payload, is_retained = message.topic, message.payload, message.is_retained
        self.roster.take(topic, payload, is_retained, message.stamp, self.now())

    def _broker(self) -> Json:
        """As anybody may know it."""
        is_lost = self.broker.state is BrokerState.LOST
        note = _NOT_REACHED if is_lost else self.broker.note
        return {"state": str(self.broker.state), "note": note}

    def _tell_all(self) -> None:
        """Everything, for the way to the broker changed."""
        for sight in (self, self.own):
            if sight.hub.is_watched:
                sight.hub.publish("board", sight.snapshot())

    async def _gather(self) -> None:
        while True:
            now = self.now()
            self.roster.settle(now, self._intake.waiting)
            self._bulletin.gather(now)
            await self._clock.sleep_until(now + _GATHER_S)

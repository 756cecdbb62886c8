"""What a board's pages are served from: every site, and the way to the broker."""

from __future__ import annotations

from typing import Any

from pullcall.board.mirrored_site import MirroredSite
from pullcall.board.quiet_hub import QuietHub
from pullcall.board.roster import Roster
from pullcall.board.subscriber import BrokerStatus
from pullcall.bus.options import BrokerOptions
from pullcall.clock import Clock
from pullcall.site.hub import Listener

Json = dict[str, Any]


class Board:
    """Follows all sites of a broker until :meth:`run` is cancelled.

    It is a feed (see ``pullcall.api.sight.feed.Feed``) of the board's own stream: pages get

    - ``hello`` {epoch, seq, t, speed: 1, resumed, broker: {state, note}}
    - ``board`` {epoch, seq, t, unit, broker, rows: [every row, in order]} first, and whenever the
      way to the broker changes
    - ``rows`` {seq, t, rows: [those that changed], order: [every site's id]}, gathered each 100 ms
    - ``tick`` {t} each second

    Times ``t`` and ``…_t`` are seconds on the board's own clock.
    """

    def __init__(self, options: BrokerOptions, clock: Clock, unit: str = "F") -> None:
        self.hub = QuietHub()
        self.roster = Roster()
        self.unit = unit
        self._options = options
        self._clock = clock

    @property
    def broker(self) -> BrokerStatus:
        """How the way to the broker is."""
        raise NotImplementedError

    @property
    def epoch(self) -> str:
        """Names the run of numbers that the board's stream belongs to."""
        return self.hub.epoch

    def now(self) -> float:
        """The board's own clock, seconds."""
        return self._clock.monotonic()

    def site(self, id: str) -> MirroredSite | None:
        """A site with ``hub``, ``now()`` and ``snapshot()`` as a site's own feed needs them; None
        where there is none of that id (any more)."""
        raise NotImplementedError

    def snapshot(self) -> Json:
        """The ``board`` message as it is now, with its type: what ``GET /api/v1/sites`` answers."""
        raise NotImplementedError

    def greeting(self, epoch: str | None, since: int | None) -> list[str]:
        """Hello, then what was missed after ``since``, or the board."""
        raise NotImplementedError

    def join(self) -> Listener:
        """A new listener to the board's stream, from now on."""
        return self.hub.join()

    def leave(self, listener: Listener) -> None:
        """Forget a listener."""
        self.hub.leave(listener)

    def close(self) -> None:
        """Let every page go, of the board and of each site."""
        raise NotImplementedError

    async def run(self) -> None:
        """Follow the sites until cancelled; a broker that cannot be reached is tried again."""
        raise NotImplementedError

"""Who may look at a board: whoever brings a pass. Nothing is remembered but open streams."""

from __future__ import annotations

import math
from contextlib import ExitStack

from pullcall.access.keys import new_id
from pullcall.access.open_streams import OpenStreams
from pullcall.access.records import Sight
from pullcall.access.role import Role
from pullcall.access.terms import TICKET_LASTS_S, check_sight, life_of
from pullcall.api.board.passes import Pass, Passes, Purpose, pass_of
from pullcall.api.visitor import Visitor
from pullcall.clock import Clock
from pullcall.errors import PairingError

#: The wall clock may be set while a stream is open: it is looked at as often as this, seconds.
_LOOK_S = 60.0
_NO_LINK = (
    "This link to the board is not good (any more): ask whoever runs the board for a new one."
)


class BoardAdmission:
    """Lets watchers in by passes; see :class:`pullcall.api.admission.Admission`."""

    #: Another name than a site's: browsers send a cookie to every port of a machine.
    cookie = "pullcall_board"
    #: There is nothing to remember.
    trouble = None

    def __init__(self, passes: Passes, clock: Clock) -> None:
        self.clock = clock
        self._passes = passes
        self._streams = OpenStreams()

    def now(self) -> float:
        """Monotonic seconds, for how often somebody may ask."""
        return self.clock.monotonic()

    def link(self, lasts_s: float | None, sight: Sight, site: str | None) -> str:
        """A new link's secret. ``lasts_s`` None: as long as a watcher's link does.

        Raises RefusedError for one that would last too long, or a delay that there is not.
        """
        check_sight(Role.WATCHER, sight)
        ends = math.ceil(self._wall() + life_of(Role.WATCHER, lasts_s))
        return self._passes.signed(Purpose.LINK, Pass(ends, sight, site))

    def claim(self, link: str) -> tuple[Pass, str]:
        """Let a phone in by a link's secret: its pass, and the token for its cookie.

        Raises PairingError.
        """
        invited = self._passes.read(Purpose.LINK, link, self._wall())
        if invited is None:
            raise PairingError(_NO_LINK)
        own = Pass(invited.ends, invited.sight, invited.site, new_id())
        return own, self._passes.signed(Purpose.COOKIE, own)

    def seconds_left(self, what: Pass) -> float:
        """How long a pass is still good, seconds."""
        return max(0.0, what.ends - self._wall())

    def pairing_of(self, token: str) -> Pass | None:
        """What a cookie lets in for."""
        return self._passes.read(Purpose.COOKIE, token, self._wall())

    def ticket(self, pairing_id: str) -> str:
        """A ticket that opens streams of this phone for 30 s."""
        until = math.ceil(self._wall() + TICKET_LASTS_S)
        return self._passes.signed(Purpose.TICKET, pass_of(pairing_id), until)

    def redeem(self, ticket: str) -> Pass | None:
        """What a ticket lets in for."""
        return self._passes.read(Purpose.TICKET, ticket, self._wall())

    def only_site(self, visitor: Visitor) -> str | None:
        """The one site that a visitor may see; None: all of them."""
        return None if visitor.pairing is None else pass_of(visitor.pairing).site

    async def until_gone(self, pairing_id: str) -> None:
        """Return once this pass has ended."""
        what = pass_of(pairing_id)
        while left_s := self.seconds_left(what):
            await self.clock.sleep_until(self.now() + min(left_s, _LOOK_S))

    def take_place(self, pairing_id: str | None, watches: bool) -> ExitStack | None:
        """A place for a stream of this phone, taken until it is closed; None where it has none.

        It is asked for and taken at once: of many that come together none slips in between. None
        for ``pairing_id`` is this machine itself.
        """
        return self._streams.take(pairing_id, watches)

    def _wall(self) -> float:
        return self.clock.wall().timestamp()

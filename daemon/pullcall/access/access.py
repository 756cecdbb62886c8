"""The site's pairings: the register with a clock, a file, and word of who is here."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

from pullcall.access.open_streams import OpenStreams
from pullcall.access.paired_file import PairedFile
from pullcall.access.pairings_pen import PairingsPen
from pullcall.access.records import Claimed, Invitation, Invited, Opened, Pairing, Sight
from pullcall.access.register import Register
from pullcall.access.role import Role
from pullcall.clock import Clock
from pullcall.errors import PairingError
from pullcall.first_of import first_of

_log = logging.getLogger(__name__)

#: Saved this often though nothing changed, seconds: where a machine starts without knowing the
#: time, nothing lives longer by more than this for each time it lost power.
_REFRESH_S = 600.0
#: A file that could not be saved is tried again after this, seconds.
_RETRY_S = 30.0
#: Whoever pairs, revokes or invites waits so long for the disk, seconds.
_PATIENCE_S = 5.0


class Access:
    """Who may do what at this site. ``path`` None: nothing outlives the process.

    Every method belongs to the event loop's thread. What changes counts at once and is on disk
    when :meth:`saved` returns; if it cannot be, everything goes on and ``trouble`` says so. The
    methods raise what those of the same name of :class:`Register` do.
    """

    #: The name of the cookie that holds a phone's token.
    cookie = "pullcall"

    def __init__(self, clock: Clock, path: Path | None) -> None:
        self.clock = clock
        self._pen = None if path is None else PairingsPen(PairedFile(path))
        kept = () if self._pen is None else (self._pen.load(self.now(), clock.wall()),)
        self._register = Register(*kept)
        self._saved_at = self.now()
        self._streams = OpenStreams()
        self._ends: dict[str, asyncio.Event] = {}

    @property
    def trouble(self) -> str | None:
        """Why what changed last is not on disk; None if it is."""
        return None if self._pen is None else self._pen.trouble

    async def saved(self) -> None:
        """Return once what changed so far is on disk; or cannot be, or a stalling disk was waited
        for long enough: then ``trouble`` says so."""
        if self._pen is not None:
            await self._pen.until_saved(_PATIENCE_S)

    def now(self) -> float:
        """Seconds on the clock of every deadline here."""
        return self.clock.monotonic()

    def seconds_left(self, record: Invitation | Pairing) -> float:
        """How long an invitation or a pairing still lasts, seconds."""
        return max(0.0, record.expires - self.now())

    # Letting in

    def invite(self, role: Role, label: str, lasts_s: float | None, sight: Sight) -> Invited:
        """A new invitation; ``lasts_s`` None: as long as is usual for the role."""
        invited = self._register.invite(role, label, lasts_s, sight, self.now())
        self._keep()
        return invited

    def open_code(self, invitation_id: str) -> Opened:
        """Let an invitation be claimed by eight digits too, once, for two minutes at most."""
        return self._register.open_code(invitation_id, self.now())

    def claim_secret(self, secret: str, name: str) -> Claimed:
        """Pair a phone by the secret of a link."""
        return self._paired(lambda: self._register.claim_secret(secret, name, *self._moment()))

    def claim_code(self, code: str, name: str) -> Claimed:
        """Pair a phone by a code."""
        return self._paired(lambda: self._register.claim_code(code, name, *self._moment()))

    def pairing_of(self, token: str) -> Pairing | None:
        """Whose token it is, while they are paired."""
        self._take_in_found()
        if self.now() >= self._next_save():
            self._save()
        return self._register.pairing_of(token, self.now())

    def ticket(self, pairing_id: str) -> str:
        """A ticket that opens one stream of this phone within 30 s."""
        return self._register.ticket(pairing_id, self.now())

    def redeem(self, ticket: str) -> Pairing | None:
        """Whose ticket it is, once, while they are paired."""
        return self._register.redeem(ticket, self.now())

    # Looking, and ending

    def pairings(self) -> tuple[Pairing, ...]:
        """Every paired phone, oldest first."""
        return self._register.pairings(self.now())

    def invitations(self) -> tuple[Invitation, ...]:
        """Every invitation until it expires, used up or not, oldest first."""
        return self._register.invitations(self.now())

    def revoke(self, pairing_id: str) -> None:
        """End a pairing: its token, its tickets, its streams."""
        _log_ended(self._register.revoke(pairing_id))
        self._keep()

    def revoke_invitation(self, invitation_id: str) -> None:
        """End an invitation, and every pairing that came of it."""
        for pairing in self._register.revoke_invitation(invitation_id):
            _log_ended(pairing)
        self._keep()

    async def until_gone(self, pairing_id: str) -> None:
        """Return once this pairing was revoked, gave way, or has expired."""
        while (pairing := self._register.pairing(pairing_id, self.now())) is not None:
            end = self._ends.setdefault(pairing_id, asyncio.Event())
            await first_of(end.wait(), self.clock.sleep_until(pairing.expires))

    # Who is here

    def take_place(self, pairing_id: str | None, watches: bool) -> ExitStack | None:
        """A place for a stream of this phone, taken until it is closed; None where it has none.

        It is asked for and taken at once: of many that come together none slips in between. None
        for ``pairing_id`` is this machine itself.
        """
        return self._streams.take(pairing_id, watches)

    def is_here(self, pairing_id: str) -> bool:
        """Whether this phone has a stream open."""
        return pairing_id in self._streams

    # Inside

    def _moment(self) -> tuple[float, str]:
        return self.now(), self.clock.wall().isoformat(timespec="seconds")

    def _paired(self, claim: Callable[[], Claimed]) -> Claimed:
        try:
            claimed = claim()
        except PairingError as refusal:
            _log.warning("A phone was not paired: %s", refusal)
            raise
        _log.info("%s was paired as %s.", claimed.pairing.name, claimed.pairing.role)
        self._keep()
        return claimed

    def _keep(self) -> None:
        """After every change: on its way to the disk, and known to whoever waits for an end."""
        self._save()
        there = {pairing.id for pairing in self.pairings()}
        for id in [id for id in self._ends if id not in there]:
            self._ends.pop(id).set()

    def _take_in_found(self) -> None:
        """The file could be read at last: whoever is in it is paired, too."""
        found = None if self._pen is None else self._pen.found()
        if found is not None:
            self._register.take_in(found)
            self._save()

    def _next_save(self) -> float:
        return self._saved_at + (_REFRESH_S if self.trouble is None else _RETRY_S)

    def _save(self) -> None:
        if self._pen is None:
            return
        now = self._saved_at = self.now()
        self._pen.save(self._register.kept(now), now, self.clock.wall())


def _log_ended(pairing: Pairing) -> None:
    _log.info("%s, paired as %s, was revoked.", pairing.name, pairing.role)

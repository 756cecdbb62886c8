"""The register of who was invited and let in: no clock, no file, no network."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace

from pullcall.access import keys
from pullcall.access.codes import OpenCodes
from pullcall.access.names import TakenNames, clean
from pullcall.access.records import (
    Claimed,
    Invitation,
    Invited,
    Kept,
    Opened,
    Pairing,
    Sight,
)
from pullcall.access.role import Role
from pullcall.access.terms import BOUNDS, TERMS, Bounds, check_sight, life_of
from pullcall.access.tickets import Tickets
from pullcall.errors import PairingError, RefusedError, UnknownNameError

_NOTHING = Kept()
#: The same words whether a secret is wrong, over, used or revoked: strangers learn nothing.
_NO_LINK = "This link does not pair a phone (any more): ask the cook for a new one."
_NO_CODE = "This code does not pair a phone (any more): check it, or ask the cook for a new one."


class Register:
    """Invitations, pairings, open codes and tickets.

    ``now`` is monotonic seconds and never goes back; ``wall`` is only noted. What has expired
    is gone by itself. Deterministic but for its secrets, which a test can give.
    """

    def __init__(
        self,
        kept: Kept = _NOTHING,
        *,
        new_secret: Callable[[], str] = keys.new_secret,
        new_code: Callable[[], str] = keys.new_code,
        new_id: Callable[[], str] = keys.new_id,
        bounds: Bounds = BOUNDS,
    ) -> None:
        self._new_secret = new_secret
        self._new_id = new_id
        self._bounds = bounds
        # Both by digest, oldest first. How long looking one up takes depends on digests only: what
        # could be learned from it is of a digest, which leads to no secret (see keys.digest).
        self._invitations = {one.digest: one for one in kept.invitations}
        self._pairings = {one.digest: one for one in kept.pairings}
        self._names = TakenNames(one.name for one in self._pairings.values())
        self._codes = OpenCodes(new_code, bounds.codes)
        self._tickets = Tickets(new_secret)

    # Inviting

    def invite(
        self, role: Role, label: str, lasts_s: float | None, sight: Sight, now: float
    ) -> Invited:
        """A new invitation; ``lasts_s`` None: as long as is usual for the role.

        Raises RefusedError for a life or a sight that the role may not have, and when there are
        too many invitations already.
        """
        self._drop_expired(now)
        check_sight(role, sight)
        life_s = life_of(role, lasts_s)
        if len(self._invitations) >= self._bounds.invitations:
            raise RefusedError("There are too many invitations: revoke one that is not needed.")
        secret = self._new_secret()
        invitation = Invitation(
            id=self._new_id(),
            role=role,
            label=clean(label),
            digest=keys.digest(secret),
            expires=now + life_s,
            sight=sight,
            uses_left=TERMS[role].uses,
        )
        self._invitations[invitation.digest] = invitation
        return Invited(invitation, secret)

    def open_code(self, invitation_id: str, now: float) -> Opened:
        """Let an invitation be claimed by eight digits too, once, for two minutes at most.

        Raises UnknownNameError for no such invitation, RefusedError when it is used up.
        """
        self._drop_expired(now)
        invitation = self._invitation(invitation_id)
        if invitation is None:
            raise _no_invitation()
        if invitation.uses_left == 0:
            raise RefusedError("This invitation has paired its phone: make a new one.")
        return Opened(*self._codes.open(invitation.id, invitation.expires, now))

    # Claiming

    def claim_secret(self, secret: str, name: str, now: float, wall: str) -> Claimed:
        """Pair a phone by the secret of a link. Raises PairingError, saying what to do."""
        self._drop_expired(now)
        invitation = self._invitations.get(keys.digest(secret))
        if invitation is None or invitation.uses_left == 0:
            raise PairingError(_NO_LINK)
        return self._pair(invitation, name, now, wall)

    def claim_code(self, code: str, name: str, now: float, wall: str) -> Claimed:
        """Pair a phone by a code. Raises PairingError; a wrong guess closes codes, never more."""
        self._drop_expired(now)
        guessed = self._codes.guess(code, now)
        invitation = self._invitation(guessed) if guessed is not None else None
        if invitation is None:
            raise PairingError(_NO_CODE)
        claimed = self._pair(invitation, name, now, wall)
        self._codes.close(invitation.id)
        return claimed

    # Asking

    def pairing_of(self, token: str, now: float) -> Pairing | None:
        """Whose token it is, while they are paired."""
        return _if_good(self._pairings.get(keys.digest(token)), now)

    def pairing(self, pairing_id: str, now: float) -> Pairing | None:
        """The pairing of this id, while it lasts."""
        return _if_good(self._pairing(pairing_id), now)

    def pairings(self, now: float) -> tuple[Pairing, ...]:
        """Every paired phone, oldest first."""
        self._drop_expired(now)
        return tuple(self._pairings.values())

    def invitations(self, now: float) -> tuple[Invitation, ...]:
        """Every invitation until it expires, used up or not, oldest first."""
        self._drop_expired(now)
        return tuple(self._invitations.values())

    def kept(self, now: float) -> Kept:
        """What outlives a restart: give it to the next register."""
        return Kept(self.invitations(now), self.pairings(now))

    def take_in(self, kept: Kept) -> None:
        """What an earlier register kept, and could not be read when this one was made."""
        before = {one.digest: one for one in kept.invitations}
        self._invitations = {**before, **self._invitations}
        self._pairings = {**{one.digest: one for one in kept.pairings}, **self._pairings}
        self._names = TakenNames(one.name for one in self._pairings.values())

    # Revoking

    def revoke(self, pairing_id: str) -> Pairing:
        """End a pairing; its tickets are no use then. Raises UnknownNameError if there is none."""
        pairing = self._pairing(pairing_id)
        if pairing is None:
            raise UnknownNameError("No such phone is paired (any more): look at the list again.")
        self._end((pairing,))
        return pairing

    def revoke_invitation(self, invitation_id: str) -> tuple[Pairing, ...]:
        """End an invitation and every phone it let in, also after it expired; those phones.

        Raises UnknownNameError if there is neither the invitation nor a phone of it.
        """
        invitation = self._invitation(invitation_id)
        phones = self._phones_of(invitation_id)
        if invitation is None and not phones:
            raise _no_invitation()
        if invitation is not None:
            del self._invitations[invitation.digest]
        self._codes.close(invitation_id)
        self._end(phones)
        return phones

    # Tickets

    def ticket(self, pairing_id: str, now: float) -> str:
        """A ticket that opens one stream within 30 s. Raises UnknownNameError if not paired."""
        if self.pairing(pairing_id, now) is None:
            raise UnknownNameError("This phone is not paired (any more): pair it again.")
        return self._tickets.issue(pairing_id, now)

    def redeem(self, ticket: str, now: float) -> Pairing | None:
        """Whose ticket it is, once, while they are paired."""
        pairing_id = self._tickets.redeem(ticket, now)
        return self.pairing(pairing_id, now) if pairing_id is not None else None

    # Inside

    def _pair(self, invitation: Invitation, name: str, now: float, wall: str) -> Claimed:
        self._make_room(invitation)
        token = self._new_secret()
        paired_s = TERMS[invitation.role].paired_s
        pairing = Pairing(
            id=self._new_id(),
            name=self._names.take(name),
            role=invitation.role,
            digest=keys.digest(token),
            expires=invitation.expires if paired_s is None else now + paired_s,
            sight=invitation.sight,
            invitation=invitation.id,
            paired=wall,
        )
        self._pairings[pairing.digest] = pairing
        self._use(invitation)
        return Claimed(pairing, token)

    def _use(self, invitation: Invitation) -> None:
        if invitation.uses_left is None:
            return
        left = invitation.uses_left - 1
        self._invitations[invitation.digest] = replace(invitation, uses_left=left)
        if left == 0:
            self._codes.close(invitation.id)

    def _make_room(self, invitation: Invitation) -> None:
        """Let a watcher take another's place; raise PairingError where nobody may give way."""
        watchers = [one for one in self._pairings.values() if one.role is Role.WATCHER]
        if invitation.role is not Role.WATCHER:
            if len(self._pairings) - len(watchers) >= self._bounds.actors:
                raise PairingError("Too many phones are paired: revoke one of them, then retry.")
            return
        own = self._phones_of(invitation.id)
        if len(own) >= self._bounds.of_a_link:
            self._end(own[:1])
        elif len(watchers) >= self._bounds.watchers:
            self._end((_oldest_of_the_fullest_link(watchers),))

    def _end(self, pairings: Iterable[Pairing]) -> None:
        for pairing in pairings:
            del self._pairings[pairing.digest]
            self._names.leave(pairing.name)

    def _drop_expired(self, now: float) -> None:
        self._end([one for one in self._pairings.values() if one.expires <= now])
        for invitation in tuple(self._invitations.values()):
            if invitation.expires <= now:
                del self._invitations[invitation.digest]
        self._codes.drop_expired(now)
        self._tickets.drop_expired(now)

    def _invitation(self, id: str) -> Invitation | None:
        return next((one for one in self._invitations.values() if one.id == id), None)

    def _pairing(self, id: str) -> Pairing | None:
        return next((one for one in self._pairings.values() if one.id == id), None)

    def _phones_of(self, invitation_id: str) -> tuple[Pairing, ...]:
        return tuple(one for one in self._pairings.values() if one.invitation == invitation_id)


def _if_good(pairing: Pairing | None, now: float) -> Pairing | None:
    return pairing if pairing is not None and pairing.expires > now else None


def _oldest_of_the_fullest_link(watchers: list[Pairing]) -> Pairing:
    """Who gives way: so a link that got around costs the phones of other links nothing."""
    phones = Counter(one.invitation for one in watchers)
    fullest = phones.most_common(1)[0][0]
    return next(one for one in watchers if one.invitation == fullest)


def _no_invitation() -> UnknownNameError:
    return UnknownNameError("There is no such invitation (any more): look at the list again.")

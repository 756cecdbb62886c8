"""The register under any order of inviting, typing, guessing, claiming, revoking and waiting.

``links``, ``phones``, ``codes`` and ``tickets`` keep what was ever given out, and what the rules in
docs/access.md say it is good for now. After every step the register has to agree.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from typing import TypeVar

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
)

from pullcall.access.records import Claimed, Kept, Sight
from pullcall.access.register import Register
from pullcall.access.role import Role
from pullcall.access.terms import Bounds
from pullcall.errors import PairingError, RefusedError, UnknownNameError
from tests.access.registers import DAY, HOUR, MINUTE, NOTHING, WALL, numbered

BOUNDS = Bounds(invitations=8, codes=2, actors=3, watchers=3, of_a_link=2)
CODE_S, TRIES, TICKET_S, TICKETS = 2 * MINUTE, 5, 30.0, 4
#: The longest lives of a link, and of a phone that acts, seconds.
LINK_S = {Role.COOK: 10 * MINUTE, Role.HAND: 10 * MINUTE, Role.WATCHER: 7 * DAY}
PHONE_S = 30 * DAY
#: The numbered source of codes never comes to it.
WRONG = "99999999"

#: Mostly one of the last few things given out, counted from the end.
picks = st.one_of(st.integers(0, 3), st.integers(0, 10**6))
short_pauses = st.sampled_from([0.5, 15.0, 29.5, 31.0, 59.0])
long_pauses = st.sampled_from([121.0, 601.0, HOUR, 12 * HOUR, 8 * DAY, 31 * DAY])
_Thing = TypeVar("_Thing")
_Claim = Callable[[Register, str, str, float, str], Claimed]


@dataclass(eq=False)
class Link:
    """An invitation as it was given out."""

    id: str
    secret: str
    role: Role
    expires: float
    is_revoked: bool = False
    uses: int = 0

    def is_there(self, now: float) -> bool:
        return not self.is_revoked and now < self.expires

    def is_good(self, now: float) -> bool:
        return self.is_there(now) and (self.role is Role.WATCHER or self.uses == 0)


@dataclass(eq=False)
class Phone:
    """A pairing as it was given out; ``has_ended``: it was revoked, or gave way."""

    id: str
    token: str
    link: Link
    expires: float
    has_ended: bool = False

    def is_paired(self, now: float) -> bool:
        return not self.has_ended and now < self.expires


@dataclass(eq=False)
class Code:
    """A code as it was given out; ``is_closed``: it was used or replaced, or has no tries left."""

    digits: str
    link: Link
    until: float
    tries: int = TRIES
    is_closed: bool = False

    def is_open(self, now: float) -> bool:
        return not self.is_closed and now < self.until and self.link.is_good(now)


@dataclass(eq=False)
class Ticket:
    """A ticket as it was given out; ``is_gone``: it was used, or one too many."""

    secret: str
    phone: Phone
    until: float
    is_gone: bool = False

    def is_good(self, now: float) -> bool:
        return not self.is_gone and now < self.until and self.phone.is_paired(now)


class Pairings(RuleBasedStateMachine):
    """Everything that was ever given out is tried again and again."""

    def __init__(self) -> None:
        super().__init__()
        self.now = 1000.0
        self.new_secret, self.new_code = numbered("secret {}"), numbered("{:08}")
        self.new_id = numbered("id {}")
        self.register = self.opened(NOTHING)
        self.links: list[Link] = []
        self.phones: list[Phone] = []
        self.codes: list[Code] = []
        self.tickets: list[Ticket] = []

    def opened(self, kept: Kept) -> Register:
        return Register(
            kept,
            new_secret=self.new_secret,
            new_code=self.new_code,
            new_id=self.new_id,
            bounds=BOUNDS,
        )

    @initialize()
    def everybody_was_invited_and_some_have_come(self) -> None:
        for role in (Role.WATCHER, Role.WATCHER, Role.HAND, Role.COOK, Role.COOK):
            self.a_link_is_made(role, 1.0)
        for pick in (4, 3, 0):
            self.a_link_is_followed(pick)
        self.a_code_is_opened(1)
        self.a_phone_asks_for_tickets(0, 1)

    # Letting in

    @rule(role=st.sampled_from(Role), share=st.floats(0.01, 1.0))
    def a_link_is_made(self, role: Role, share: float) -> None:
        life_s = share * LINK_S[role]
        if sum(link.is_there(self.now) for link in self.links) >= BOUNDS.invitations:
            with pytest.raises(RefusedError):
                self.register.invite(role, "", life_s, Sight(), self.now)
            return
        invited = self.register.invite(role, "", life_s, Sight(), self.now)
        expires = self.now + life_s
        self.links.append(Link(invited.invitation.id, invited.secret, role, expires))

    @rule(pick=picks)
    def a_code_is_opened(self, pick: int) -> None:
        link = one_of(self.links, pick)
        if not link.is_good(self.now):
            with pytest.raises(RefusedError):
                self.register.open_code(link.id, self.now)
            return
        opened = self.register.open_code(link.id, self.now)
        assert opened.lasts_s <= CODE_S
        for code in self.codes:
            code.is_closed |= code.link is link
        for code in self.open_codes()[: 1 - BOUNDS.codes]:
            code.is_closed = True
        until = min(self.now + CODE_S, link.expires)
        self.codes.append(Code(opened.code, link, until))

    @rule(pick=picks)
    def a_link_is_followed(self, pick: int) -> None:
        link = one_of(self.links, pick)
        if not link.is_good(self.now) or self.is_full_for(link):
            with pytest.raises(PairingError):
                self.register.claim_secret(link.secret, "phone", self.now, WALL)
        else:
            self.admit(link, self.register.claim_secret(link.secret, "phone", self.now, WALL))

    @rule(pick=picks)
    def a_code_is_typed(self, pick: int) -> None:
        code = one_of(self.codes, pick)
        if code.is_open(self.now) and not self.is_full_for(code.link):
            claimed = self.register.claim_code(code.digits, "phone", self.now, WALL)
            code.is_closed = True
            self.admit(code.link, claimed)
            return
        with pytest.raises(PairingError):
            self.register.claim_code(code.digits, "phone", self.now, WALL)
        if not code.is_open(self.now):
            self.count_miss()

    @rule(times=st.integers(1, 5))
    def somebody_guesses_a_code(self, times: int) -> None:
        kept = self.register.kept(self.now)
        for _ in range(times):
            with pytest.raises(PairingError):
                self.register.claim_code(WRONG, "phone", self.now, WALL)
            self.count_miss()
        assert self.register.kept(self.now) == kept

    @rule(secret=st.text(max_size=4))
    def somebody_guesses_a_secret(self, secret: str) -> None:
        kept = self.register.kept(self.now)
        with pytest.raises(PairingError):
            self.register.claim_secret(secret, "phone", self.now, WALL)
        assert self.register.pairing_of(secret, self.now) is None
        assert self.register.redeem(secret, self.now) is None
        assert self.register.kept(self.now) == kept

    # Ending

    @rule(pick=picks)
    def a_phone_is_revoked(self, pick: int) -> None:
        phone = one_of(self.phones, pick)
        if not phone.is_paired(self.now):
            with pytest.raises(UnknownNameError):
                self.register.revoke(phone.id)
            return
        assert self.register.revoke(phone.id).id == phone.id
        phone.has_ended = True

    @rule(pick=picks)
    def a_link_is_revoked(self, pick: int) -> None:
        link = one_of(self.links, pick)
        of_it = [phone for phone in self.paired() if phone.link is link]
        if not link.is_there(self.now) and not of_it:
            with pytest.raises(UnknownNameError):
                self.register.revoke_invitation(link.id)
            return
        ended = self.register.revoke_invitation(link.id)
        assert [pairing.id for pairing in ended] == [phone.id for phone in of_it]
        link.is_revoked = True
        for phone in of_it:
            phone.has_ended = True

    @rule(pause=short_pauses)
    def a_while_passes(self, pause: float) -> None:
        self.now += pause

    @rule(pause=long_pauses, restarts=st.booleans())
    def a_long_time_passes(self, pause: float, restarts: bool) -> None:
        self.now += pause
        if restarts:
            self.start_anew()

    def start_anew(self) -> None:
        self.register = self.opened(self.register.kept(self.now))
        for code in self.codes:
            code.is_closed = True
        for ticket in self.tickets:
            ticket.is_gone = True

    # Tickets

    @rule(pick=picks, number=st.integers(1, 3))
    def a_phone_asks_for_tickets(self, pick: int, number: int) -> None:
        phone = one_of(self.phones, pick)
        if not phone.is_paired(self.now):
            with pytest.raises(UnknownNameError):
                self.register.ticket(phone.id, self.now)
            return
        for _ in range(number):
            own = [one for one in self.tickets if one.phone is phone and one.is_good(self.now)]
            for ticket in own[: 1 - TICKETS]:
                ticket.is_gone = True
            secret = self.register.ticket(phone.id, self.now)
            self.tickets.append(Ticket(secret, phone, self.now + TICKET_S))

    @rule(pick=picks)
    def a_ticket_is_redeemed(self, pick: int) -> None:
        ticket = one_of(self.tickets, pick)
        pairing = self.register.redeem(ticket.secret, self.now)
        assert (pairing is not None) == ticket.is_good(self.now)
        assert pairing is None or pairing.id == ticket.phone.id
        ticket.is_gone = True

    # What has to hold

    @rule()
    def whatever_was_given_out_last_works_just_while_it_is_good(self) -> None:
        for code in self.codes[-4:]:
            works = self.would_pair(Register.claim_code, code.digits)
            assert works == (code.is_open(self.now) and not self.is_full_for(code.link))
        for link in self.links[-4:]:
            works = self.would_pair(Register.claim_secret, link.secret)
            assert works == (link.is_good(self.now) and not self.is_full_for(link))
        twin = deepcopy(self.register)
        for ticket in self.tickets[-8:]:
            works = twin.redeem(ticket.secret, self.now) is not None
            assert works == ticket.is_good(self.now)

    def would_pair(self, claim: _Claim, secret: str) -> bool:
        """Try it on a copy, so that trying changes nothing."""
        try:
            claim(deepcopy(self.register), secret, "phone", self.now, WALL)
        except PairingError:
            return False
        return True

    @invariant()
    def a_token_works_while_its_phone_is_paired_and_no_longer(self) -> None:
        for phone in self.phones:
            pairing = self.register.pairing_of(phone.token, self.now)
            assert (pairing is not None) == phone.is_paired(self.now)
            assert pairing is None or (pairing.id, pairing.role) == (phone.id, phone.link.role)

    @invariant()
    def what_is_listed_is_what_is_good(self) -> None:
        listed = [pairing.id for pairing in self.register.pairings(self.now)]
        assert listed == [phone.id for phone in self.paired()]
        links = [invitation.id for invitation in self.register.invitations(self.now)]
        assert links == [link.id for link in self.links if link.is_there(self.now)]

    @invariant()
    def no_secret_was_used_twice_where_one_use_is_allowed(self) -> None:
        ids = [phone.link.id for phone in self.phones if phone.link.role is not Role.WATCHER]
        assert len(ids) == len(set(ids))

    @invariant()
    def counts_stay_bounded(self) -> None:
        pairings = self.register.pairings(self.now)
        watchers = [pairing for pairing in pairings if pairing.role is Role.WATCHER]
        assert len(pairings) - len(watchers) <= BOUNDS.actors
        assert len(watchers) <= BOUNDS.watchers
        assert all(n <= BOUNDS.of_a_link for n in Counter(w.invitation for w in watchers).values())
        assert len(self.register.invitations(self.now)) <= BOUNDS.invitations
        assert len({pairing.name for pairing in pairings}) == len(pairings)

    # The model

    def paired(self) -> list[Phone]:
        return [phone for phone in self.phones if phone.is_paired(self.now)]

    def open_codes(self) -> list[Code]:
        return [code for code in self.codes if code.is_open(self.now)]

    def is_full_for(self, link: Link) -> bool:
        acting = sum(phone.link.role is not Role.WATCHER for phone in self.paired())
        return link.role is not Role.WATCHER and acting >= BOUNDS.actors

    def count_miss(self) -> None:
        for code in self.open_codes():
            code.tries -= 1
            code.is_closed = code.tries == 0

    def admit(self, link: Link, claimed: Claimed) -> None:
        assert claimed.pairing.role is link.role
        if link.role is Role.WATCHER:
            self.let_one_give_way(link)
        link.uses += 1
        expires = link.expires if link.role is Role.WATCHER else self.now + PHONE_S
        self.phones.append(Phone(claimed.pairing.id, claimed.token, link, expires))

    def let_one_give_way(self, link: Link) -> None:
        """Only past a bound, only a watcher, and the oldest of its link, or of a fullest one."""
        watchers = [one for one in self.paired() if one.link.role is Role.WATCHER]
        own = [one for one in watchers if one.link is link]
        of_link = Counter(one.link for one in watchers)
        if len(own) >= BOUNDS.of_a_link:
            own[0].has_ended = True
        elif len(watchers) >= BOUNDS.watchers:
            there = {pairing.id for pairing in self.register.pairings(self.now)}
            (gone,) = [one for one in watchers if one.id not in there]
            assert of_link[gone.link] == max(of_link.values())
            assert gone is next(one for one in watchers if one.link is gone.link)
            gone.has_ended = True


def one_of(things: list[_Thing], pick: int) -> _Thing:
    return things[-1 - pick % len(things)]


TestPairings = Pairings.TestCase
TestPairings.settings = settings(max_examples=150, stateful_step_count=50, deadline=None)

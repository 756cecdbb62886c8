"""Tickets that open a stream."""

from __future__ import annotations

import pytest

from pullcall.access.register import Register
from pullcall.access.role import Role
from pullcall.errors import UnknownNameError
from tests.access.registers import DAY, HOUR, WALL, fixed, link, phone


def test_a_ticket_opens_one_stream() -> None:
    """ASVS 6.5.1: it works once; 4.4.3, 4.4.4: a websocket has a token of its own, got by HTTP."""
    register = fixed()
    pairing = phone(register, Role.HAND).pairing
    ticket = register.ticket(pairing.id, 0.0)
    assert register.redeem(ticket, 1.0) == pairing
    assert register.redeem(ticket, 1.0) is None


def test_a_ticket_is_good_for_thirty_seconds() -> None:
    register = fixed()
    pairing = phone(register, Role.COOK).pairing
    first, second = (register.ticket(pairing.id, 0.0) for _ in range(2))
    assert register.redeem(first, 29.999) == pairing
    assert register.redeem(second, 30.0) is None


def test_a_ticket_dies_with_its_pairing() -> None:
    """ASVS 7.4.1: after the end of a session nothing of it is any use."""
    register = fixed()
    invited = link(register, Role.WATCHER)
    revoked, expiring = (register.claim_secret(invited.secret, "x", 0.0, WALL) for _ in range(2))
    ticket = register.ticket(revoked.pairing.id, 0.0)
    register.revoke(revoked.pairing.id)
    assert register.redeem(ticket, 0.0) is None
    late = register.ticket(expiring.pairing.id, 12 * HOUR - 1)
    assert register.redeem(late, 12 * HOUR) is None


def test_no_ticket_for_a_phone_that_is_not_paired_any_more() -> None:
    register = fixed()
    revoked, expired = phone(register, Role.COOK), phone(register, Role.COOK)
    register.revoke(revoked.pairing.id)
    for id, now in [("nobody", 0.0), (revoked.pairing.id, 0.0), (expired.pairing.id, 30 * DAY)]:
        with pytest.raises(UnknownNameError):
            register.ticket(id, now)


def test_a_phone_that_asks_for_many_tickets_pushes_out_only_its_own() -> None:
    register = fixed()
    cook, greedy = phone(register, Role.COOK).pairing, phone(register, Role.WATCHER).pairing
    kept = register.ticket(cook.id, 0.0)
    many = [register.ticket(greedy.id, 0.0) for _ in range(100)]
    assert [register.redeem(one, 0.0) for one in many] == [None] * 96 + [greedy] * 4
    assert register.redeem(kept, 0.0) == cook


def test_a_ticket_is_no_token_a_token_no_ticket_and_neither_a_link() -> None:
    """ASVS 7.2.3, 11.5.1: a ticket is as hard to guess as a token, and another secret."""
    register = Register()
    claimed = phone(register, Role.COOK)
    ticket = register.ticket(claimed.pairing.id, 0.0)
    assert len(ticket) == len(claimed.token) == 22
    assert register.pairing_of(ticket, 0.0) is None
    assert register.redeem(claimed.token, 0.0) is None
    assert register.redeem("\ud800", 0.0) is None


def test_a_ticket_does_not_outlive_the_process() -> None:
    register = fixed()
    ticket = register.ticket(phone(register, Role.COOK).pairing.id, 0.0)
    assert fixed(register.kept(0.0)).redeem(ticket, 0.0) is None

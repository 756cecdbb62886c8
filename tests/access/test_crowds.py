"""However many come, what is kept stays bounded, and nobody who cooks is pushed out.

ASVS 7.1.2: how many sessions there may be, and what happens past that, is defined.
"""

from __future__ import annotations

import pytest

from pullcall.access.records import Invited
from pullcall.access.register import Register
from pullcall.access.role import Role
from pullcall.access.terms import BOUNDS, Bounds
from pullcall.errors import PairingError, RefusedError
from tests.access.registers import DAY, MINUTE, WALL, fixed, link, phone

SMALL = Bounds(invitations=8, actors=2, watchers=5, of_a_link=3)


def join(register: Register, invited: Invited, *names: str) -> None:
    for name in names:
        register.claim_secret(invited.secret, name, 0.0, WALL)


def names(register: Register) -> list[str]:
    return [one.name for one in register.pairings(0.0)]


def test_the_bounds_hold_a_team_and_a_crowd() -> None:
    assert (BOUNDS.actors, BOUNDS.watchers, BOUNDS.of_a_link, BOUNDS.codes) == (64, 1000, 800, 4)


def test_past_a_links_bound_its_oldest_phone_gives_way() -> None:
    register = fixed(bounds=SMALL)
    crowd, family = link(register, Role.WATCHER), link(register, Role.WATCHER)
    join(register, family, "mother")
    join(register, crowd, "a", "b", "c", "d")
    assert names(register) == ["mother", "b", "c", "d"]


def test_past_all_bounds_the_oldest_phone_of_the_fullest_link_gives_way() -> None:
    register = fixed(bounds=SMALL)
    family, crowd = link(register, Role.WATCHER), link(register, Role.WATCHER)
    join(register, family, "mother", "father")
    join(register, crowd, "a", "b", "c")
    join(register, link(register, Role.WATCHER), "late")
    assert names(register) == ["mother", "father", "b", "c", "late"]


def test_a_crowd_of_watchers_never_pushes_out_who_acts() -> None:
    register = fixed(bounds=SMALL)
    cook, hand = phone(register, Role.COOK, name="cook"), phone(register, Role.HAND, name="hand")
    for _ in range(4):
        join(register, link(register, Role.WATCHER), *"abcd")
    assert names(register)[:2] == ["cook", "hand"]
    assert register.pairing_of(cook.token, 0.0) and register.pairing_of(hand.token, 0.0)
    assert len(names(register)) == 2 + SMALL.watchers


def test_too_many_who_act_are_refused_and_their_link_stays_good() -> None:
    register = fixed(bounds=SMALL)
    lost = phone(register, Role.COOK)
    phone(register, Role.HAND)
    third = link(register, Role.COOK)
    with pytest.raises(PairingError, match="revoke"):
        register.claim_secret(third.secret, "x", 0.0, WALL)
    register.revoke(lost.pairing.id)
    assert register.claim_secret(third.secret, "x", 0.0, WALL).pairing.role is Role.COOK


def test_a_code_for_one_too_many_stays_open_until_there_is_room() -> None:
    register = fixed(bounds=SMALL)
    lost = phone(register, Role.COOK)
    phone(register, Role.HAND)
    code = register.open_code(link(register, Role.COOK).invitation.id, 0.0).code
    with pytest.raises(PairingError, match="revoke"):
        register.claim_code(code, "x", 0.0, WALL)
    register.revoke(lost.pairing.id)
    assert register.claim_code(code, "x", 0.0, WALL).pairing.role is Role.COOK


def test_too_many_invitations_are_refused_until_some_have_ended() -> None:
    register = fixed(bounds=SMALL)
    for _ in range(8):
        link(register, Role.HAND)
    with pytest.raises(RefusedError, match="revoke"):
        link(register, Role.HAND)
    link(register, Role.HAND, 10 * MINUTE)


def test_what_has_expired_leaves_room_by_itself() -> None:
    register = fixed(bounds=SMALL)
    for round_ in range(3):
        for _ in range(SMALL.actors):
            phone(register, Role.COOK, round_ * 30 * DAY)
    assert len(register.pairings(60 * DAY)) == SMALL.actors

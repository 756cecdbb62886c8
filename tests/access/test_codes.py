"""Codes that are typed, and guessed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.access.register import Register
from pullcall.access.role import Role
from pullcall.errors import PairingError, RefusedError, UnknownNameError
from tests.access.registers import HOUR, MINUTE, WALL, fixed, link, phone

WRONG = "99999999"


def guess(register: Register, code: str = WRONG, times: int = 1, now: float = 0.0) -> None:
    for _ in range(times):
        with pytest.raises(PairingError):
            register.claim_code(code, "a rival's", now, WALL)


def open_code(register: Register, role: Role = Role.COOK, now: float = 0.0) -> str:
    return register.open_code(link(register, role, now).invitation.id, now).code


@pytest.mark.parametrize("role", list(Role))
def test_a_code_pairs_a_phone_as_its_invitation_says(role: Role) -> None:
    register = fixed()
    claimed = register.claim_code(open_code(register, role), "Android phone", 1.0, WALL)
    assert claimed.pairing.role is role
    assert register.pairing_of(claimed.token, 1.0) == claimed.pairing


def test_a_code_may_be_typed_as_it_is_read_out() -> None:
    register = fixed()
    code = open_code(register)
    spaced = f" {code[:4]}-{code[4:6]} {code[6:]} "
    assert register.claim_code(spaced, "x", 0.0, WALL).pairing.role is Role.COOK


def test_a_code_pairs_one_phone_even_when_its_link_pairs_many() -> None:
    """ASVS 6.5.1: a code works once."""
    register = fixed()
    invited = link(register, Role.WATCHER)
    code = register.open_code(invited.invitation.id, 0.0).code
    register.claim_code(code, "x", 0.0, WALL)
    guess(register, code)
    register.claim_secret(invited.secret, "the link still works", 0.0, WALL)


def test_a_code_lives_two_minutes() -> None:
    """ASVS 6.5.5: a code has a lifetime, ten minutes at most."""
    register = fixed()
    first = open_code(register)
    assert register.claim_code(first, "x", 2 * MINUTE - 0.001, WALL)
    second = open_code(register, now=HOUR)
    guess(register, second, now=HOUR + 2 * MINUTE)


def test_a_code_never_outlives_its_invitation() -> None:
    register = fixed()
    invited = link(register, Role.HAND)
    opened = register.open_code(invited.invitation.id, 9.5 * MINUTE)
    assert opened.lasts_s == 0.5 * MINUTE
    guess(register, opened.code, now=10 * MINUTE)


@pytest.mark.parametrize("ends_it", ["the link is used", "the link is revoked"])
def test_a_code_ends_with_its_invitation(ends_it: str) -> None:
    register = fixed()
    invited = link(register, Role.COOK)
    code = register.open_code(invited.invitation.id, 0.0).code
    if ends_it == "the link is used":
        register.claim_secret(invited.secret, "x", 0.0, WALL)
    else:
        register.revoke_invitation(invited.invitation.id)
    guess(register, code)


def test_four_wrong_guesses_leave_a_code_open_and_the_fifth_closes_it() -> None:
    """ASVS 6.3.1, 6.6.3: guessing a code is limited to a few tries."""
    register = fixed()
    code = open_code(register)
    guess(register, times=4)
    assert register.claim_code(code, "x", 0.0, WALL)
    code = open_code(register)
    guess(register, times=5)
    guess(register, code)


def test_a_guess_counts_against_every_open_code_whatever_the_guesser_meant() -> None:
    register = fixed()
    first = open_code(register)
    guess(register, times=3)
    second = open_code(register)
    guess(register, times=2)
    guess(register, first)  # closed by the fifth; wrong by now, so the third against the second
    assert register.claim_code(second, "x", 0.0, WALL)


def test_guessing_ends_neither_a_pairing_nor_an_invitation() -> None:
    """ASVS 6.1.1: a stranger's guesses must not lock anybody out."""
    register = fixed()
    cook, invited = phone(register, Role.COOK), link(register, Role.COOK)
    code = register.open_code(invited.invitation.id, 0.0).code
    kept = register.kept(0.0)
    guess(register, times=50)
    assert register.kept(0.0) == kept
    guess(register, code)  # the code is closed, nothing else:
    assert register.pairing_of(cook.token, 0.0) == cook.pairing
    assert register.claim_secret(invited.secret, "x", 0.0, WALL)
    again = link(register, Role.COOK)
    assert register.claim_code(register.open_code(again.invitation.id, 0.0).code, "y", 0.0, WALL)


@pytest.mark.parametrize("slip", ["", "1234567", "123456789", "1234567a", "١٢٣٤٥٦٧٨", "\ud800"])
def test_a_slip_that_could_never_be_right_closes_no_code(slip: str) -> None:
    register = fixed()
    code = open_code(register)
    guess(register, slip, times=10)
    assert register.claim_code(code, "x", 0.0, WALL)


def test_a_wrong_a_late_a_used_and_a_closed_code_are_refused_alike() -> None:
    """ASVS 6.3.8: a refusal does not tell what would have been valid."""
    register = fixed()
    used, late = open_code(register, Role.WATCHER), open_code(register)
    register.claim_code(used, "x", 0.0, WALL)
    said = set()
    for code, now in [(WRONG, 0.0), ("12", 0.0), (used, 0.0), (late, 3 * MINUTE)]:
        with pytest.raises(PairingError) as refusal:
            register.claim_code(code, "x", now, WALL)
        said.add(str(refusal.value))
    assert len(said) == 1
    assert "ask the cook" in said.pop()


def test_a_few_codes_are_open_at_once_and_the_oldest_is_closed_for_a_new_one() -> None:
    register = fixed()
    codes = [open_code(register, Role.HAND) for _ in range(5)]
    guess(register, codes[0])
    for code in codes[1:]:
        assert register.claim_code(code, "x", 0.0, WALL)


def test_a_new_code_of_an_invitation_replaces_its_old_one_and_no_other() -> None:
    register = fixed()
    other, id = open_code(register), link(register, Role.COOK).invitation.id
    first, second = (register.open_code(id, 0.0).code for _ in range(2))
    guess(register, first)
    assert register.claim_code(second, "x", 0.0, WALL).pairing.invitation == id
    assert register.claim_code(other, "y", 0.0, WALL)


def test_a_code_that_ended_leaves_its_place_to_a_new_one() -> None:
    register = fixed()
    invited = [link(register, Role.HAND).invitation.id for _ in range(4)]
    first, *_ = [register.open_code(id, 0.0).code for id in invited]
    register.open_code(invited[3], 0.0)
    register.revoke_invitation(invited[1])
    open_code(register)
    assert register.claim_code(first, "x", 0.0, WALL).pairing.invitation == invited[0]


def test_a_code_is_opened_only_for_an_invitation_that_is_good() -> None:
    register = fixed()
    used, expired = link(register, Role.COOK), link(register, Role.COOK)
    register.claim_secret(used.secret, "x", 0.0, WALL)
    with pytest.raises(RefusedError, match="make a new one"):
        register.open_code(used.invitation.id, 0.0)
    for id, now in [("nobody", 0.0), (expired.invitation.id, 10 * MINUTE)]:
        with pytest.raises(UnknownNameError):
            register.open_code(id, now)


def test_two_codes_that_happen_to_be_alike_pair_for_the_newer_invitation() -> None:
    register = Register(new_code=lambda: "12345678")
    open_code(register, Role.COOK)
    open_code(register, Role.WATCHER)
    assert register.claim_code("12345678", "x", 0.0, WALL).pairing.role is Role.WATCHER


def test_a_code_does_not_outlive_the_process() -> None:
    register = fixed()
    code = open_code(register)
    guess(fixed(register.kept(0.0)), code)


@given(st.text(max_size=12))
def test_whatever_is_typed_is_refused_or_pairs_but_never_fails(typed: str) -> None:
    register = fixed()
    code = open_code(register)
    if typed != code:
        guess(register, typed)

"""Invitations, and claiming them by the secret of a link."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from pullcall.access.records import Sight
from pullcall.access.register import Register
from pullcall.access.role import Role
from pullcall.errors import PairingError, RefusedError, UnknownNameError
from tests.access.registers import DAY, HOUR, MINUTE, WALL, fixed, link, phone

ACTORS = [Role.COOK, Role.HAND]


@pytest.mark.parametrize("role", list(Role))
def test_a_link_pairs_a_phone_as_what_it_says(role: Role) -> None:
    register = fixed()
    invited = register.invite(role, " family ", None, Sight(), 0.0)
    claimed = register.claim_secret(invited.secret, "Android phone", 1.0, WALL)
    assert claimed.pairing.role is role
    assert claimed.pairing.name == "Android phone"
    assert claimed.pairing.paired == WALL
    assert claimed.pairing.invitation == invited.invitation.id
    assert invited.invitation.label == "family"
    assert register.pairing_of(claimed.token, 1.0) == claimed.pairing


@pytest.mark.parametrize("role", ACTORS)
def test_the_link_of_a_cook_or_hand_pairs_one_phone(role: Role) -> None:
    """ASVS 6.4.1, 6.5.1: an activation secret works once."""
    register = fixed()
    invited = link(register, role)
    register.claim_secret(invited.secret, "mine", 1.0, WALL)
    with pytest.raises(PairingError):
        register.claim_secret(invited.secret, "a rival's", 1.0, WALL)
    assert len(register.pairings(1.0)) == 1


@pytest.mark.parametrize("role", ACTORS)
def test_the_link_of_a_cook_or_hand_ends_after_ten_minutes(role: Role) -> None:
    """ASVS 6.4.1, 6.5.5: an activation secret ends after ten minutes at most."""
    register = fixed()
    first, second = link(register, role), link(register, role)
    register.claim_secret(first.secret, "in time", 10 * MINUTE - 0.001, WALL)
    with pytest.raises(PairingError):
        register.claim_secret(second.secret, "late", 10 * MINUTE, WALL)


@pytest.mark.parametrize("role", ACTORS)
def test_a_cook_or_hand_stays_paired_for_thirty_days_and_no_longer(role: Role) -> None:
    """ASVS 7.3.2: a session has a longest life."""
    register = fixed()
    token = phone(register, role).token
    assert register.pairing_of(token, 30 * DAY - 0.001) is not None
    assert register.pairing_of(token, 30 * DAY) is None
    assert register.pairings(30 * DAY) == ()


def test_a_watchers_link_pairs_many_phones_and_all_end_with_it() -> None:
    register = fixed()
    invited = register.invite(Role.WATCHER, "", 2 * HOUR, Sight(), 0.0)
    tokens = [register.claim_secret(invited.secret, "x", HOUR, WALL).token for _ in range(5)]
    assert all(register.pairing_of(token, 2 * HOUR - 0.001) for token in tokens)
    assert not any(register.pairing_of(token, 2 * HOUR) for token in tokens)
    with pytest.raises(PairingError):
        register.claim_secret(invited.secret, "x", 2 * HOUR, WALL)


def test_a_watchers_link_lasts_twelve_hours_if_nothing_else_is_said() -> None:
    assert link(fixed(), Role.WATCHER, 5.0).invitation.expires == 5.0 + 12 * HOUR


@pytest.mark.parametrize(
    ("role", "longest"),
    [(Role.COOK, 10 * MINUTE), (Role.HAND, 10 * MINUTE), (Role.WATCHER, 7 * DAY)],
)
def test_a_link_lasts_no_longer_than_its_role_may(role: Role, longest: float) -> None:
    register = fixed()
    assert register.invite(role, "", longest, Sight(), 0.0).invitation.expires == longest
    for odd in (longest + 0.001, 0.0, -1.0, math.inf, math.nan):
        with pytest.raises(RefusedError, match="at most"):
            register.invite(role, "", odd, Sight(), 0.0)
    assert len(register.invitations(0.0)) == 1


def test_a_watcher_is_shown_what_its_link_says() -> None:
    register = fixed()
    late = Sight(delay_s=120.0, hides_targets=True)
    invited = link(register, Role.WATCHER, sight=late)
    assert register.claim_secret(invited.secret, "x", 0.0, WALL).pairing.sight == late


@pytest.mark.parametrize(
    ("role", "sight"),
    [
        (Role.COOK, Sight(60.0)),
        (Role.HAND, Sight(hides_targets=True)),
        (Role.WATCHER, Sight(61.0)),
        (Role.WATCHER, Sight(-60.0)),
        (Role.WATCHER, Sight(math.nan)),
    ],
)
def test_only_a_watcher_can_be_shown_less_and_late_by_a_few_choices(
    role: Role, sight: Sight
) -> None:
    with pytest.raises(RefusedError):
        link(fixed(), role, sight=sight)


def test_a_wrong_a_used_an_expired_and_a_revoked_secret_are_refused_alike() -> None:
    """ASVS 6.3.8: a refusal does not tell what would have been valid."""
    register = fixed()
    used, expired, revoked = (link(register, Role.COOK) for _ in range(3))
    register.claim_secret(used.secret, "x", 0.0, WALL)
    register.revoke_invitation(revoked.invitation.id)
    said = set()
    for secret, now in [
        ("wrong", 1.0),
        ("", 1.0),
        ("\ud800", 1.0),
        (used.secret, 1.0),
        (revoked.secret, 1.0),
        (expired.secret, 10 * MINUTE),
    ]:
        with pytest.raises(PairingError) as refusal:
            register.claim_secret(secret, "x", now, WALL)
        said.add(str(refusal.value))
    assert len(said) == 1
    assert "ask the cook" in said.pop()


def test_the_token_is_new_and_is_not_the_secret_of_the_link() -> None:
    """ASVS 6.4.1, 7.2.4: pairing makes a new token; the link's secret never becomes one."""
    register = Register()
    invited = link(register, Role.WATCHER)
    first, second = (register.claim_secret(invited.secret, "x", 0.0, WALL) for _ in range(2))
    assert len({invited.secret, first.token, second.token}) == 3
    assert register.pairing_of(invited.secret, 0.0) is None


def test_nothing_that_is_kept_or_printed_holds_a_secret() -> None:
    """ASVS 16.2.5: session tokens reach no log as they are. A traceback prints records."""
    register = Register()
    invited = link(register, Role.WATCHER)
    opened = register.open_code(invited.invitation.id, 0.0)
    claimed = register.claim_secret(invited.secret, "x", 0.0, WALL)
    printed = repr((invited, opened, claimed, register.kept(0.0)))
    for secret in (invited.secret, opened.code, claimed.token):
        assert secret not in printed


def test_revoking_a_phone_ends_it_at_once_and_no_other() -> None:
    """ASVS 7.4.1, 7.4.5: an ended session is never resumed; the cook can end any of them."""
    register = fixed()
    lost, mine = phone(register, Role.COOK), phone(register, Role.COOK)
    assert register.revoke(lost.pairing.id) == lost.pairing
    assert register.pairing_of(lost.token, 0.0) is None
    assert register.pairing_of(mine.token, 0.0) == mine.pairing
    with pytest.raises(UnknownNameError):
        register.revoke(lost.pairing.id)


def test_a_revoked_phone_does_not_give_its_link_a_second_use() -> None:
    register = fixed()
    invited = link(register, Role.COOK)
    register.revoke(register.claim_secret(invited.secret, "x", 0.0, WALL).pairing.id)
    with pytest.raises(PairingError):
        register.claim_secret(invited.secret, "x", 0.0, WALL)


@pytest.mark.parametrize("role", list(Role))
def test_revoking_a_link_ends_every_phone_that_it_let_in(role: Role) -> None:
    """ASVS 6.5.6, 7.4.2: what was let in by a revoked factor is out."""
    register = fixed()
    invited, other = link(register, role), phone(register, role)
    claimed = register.claim_secret(invited.secret, "x", 0.0, WALL)
    assert register.revoke_invitation(invited.invitation.id) == (claimed.pairing,)
    assert register.pairing_of(claimed.token, 0.0) is None
    assert register.pairing_of(other.token, 0.0) == other.pairing
    with pytest.raises(UnknownNameError):
        register.revoke_invitation(invited.invitation.id)


def test_a_cooks_link_can_be_revoked_after_it_expired_while_its_phone_is_paired() -> None:
    register = fixed()
    invited = link(register, Role.COOK)
    claimed = register.claim_secret(invited.secret, "x", 0.0, WALL)
    assert register.invitations(HOUR) == ()
    assert register.revoke_invitation(invited.invitation.id) == (claimed.pairing,)


def test_a_used_link_is_listed_with_no_uses_left_until_it_expires() -> None:
    register = fixed()
    invited = link(register, Role.HAND)
    register.claim_secret(invited.secret, "x", 0.0, WALL)
    assert register.invitations(1.0) == (replace(invited.invitation, uses_left=0),)
    assert register.invitations(10 * MINUTE) == ()


def test_two_phones_of_one_name_can_be_told_apart() -> None:
    register = fixed()
    for _ in range(2):
        phone(register, Role.HAND, name="Android phone")
    assert [one.name for one in register.pairings(0.0)] == ["Android phone", "Android phone 2"]


def test_a_register_goes_on_from_what_was_kept() -> None:
    register = fixed()
    unused, watching = link(register, Role.COOK), link(register, Role.WATCHER)
    claimed = register.claim_secret(watching.secret, "x", 0.0, WALL)
    again = fixed(register.kept(1.0))
    assert again.pairing_of(claimed.token, 1.0) == claimed.pairing
    assert again.claim_secret(unused.secret, "y", 1.0, WALL).pairing.role is Role.COOK

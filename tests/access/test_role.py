"""Who may do what."""

from __future__ import annotations

from pullcall.access.role import RIGHTS, Right, Role


def test_a_cook_may_everything_a_hand_takes_part_and_a_watcher_sees() -> None:
    assert RIGHTS[Role.COOK] == {Right.READ, Right.ACT, Right.RULE}
    assert RIGHTS[Role.HAND] == {Right.READ, Right.ACT}
    assert RIGHTS[Role.WATCHER] == {Right.READ}


def test_every_role_has_its_rights_and_nobody_can_add_one() -> None:
    assert set(RIGHTS) == set(Role)
    assert not hasattr(RIGHTS, "__setitem__")

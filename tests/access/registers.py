"""Registers, links and phones for the tests.

The requirements named in these tests are those of OWASP ASVS 5.0 in our own words; their numbers
and meaning were checked against a stored copy of its text.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from itertools import count

from pullcall.access.records import Claimed, Invited, Kept, Sight
from pullcall.access.register import Register
from pullcall.access.role import Role
from pullcall.access.terms import BOUNDS, Bounds

MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0
NOON = datetime(2026, 6, 13, 12, 0, tzinfo=UTC)
NOTHING = Kept()
WALL = "2026-06-13T12:00:00+00:00"


def numbered(form: str) -> Callable[[], str]:
    """Predictable secrets: "s1", "s2", …"""
    numbers = count(1)
    return lambda: form.format(next(numbers))


def fixed(kept: Kept = NOTHING, bounds: Bounds = BOUNDS) -> Register:
    """A register whose secrets can be foretold."""
    return Register(
        kept,
        new_secret=numbered("s{}"),
        new_code=numbered("{:08}"),
        new_id=numbered("i{}"),
        bounds=bounds,
    )


def link(register: Register, role: Role, now: float = 0.0, sight: Sight | None = None) -> Invited:
    """An invitation as is usual for the role."""
    return register.invite(role, "", None, sight or Sight(), now)


def phone(register: Register, role: Role, now: float = 0.0, name: str = "phone") -> Claimed:
    """A phone paired by a link of its own."""
    return register.claim_secret(link(register, role, now).secret, name, now, WALL)

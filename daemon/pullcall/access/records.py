"""What the register knows of invitations and phones.

Every ``expires`` is a deadline on the daemon's monotonic clock, seconds: the wall clock of a board
may jump from 1970 to today, and nothing may end or live on because of that.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pullcall.access.role import Role


@dataclass(frozen=True, slots=True)
class Sight:
    """How late a phone is shown the cook, seconds, and whether without its targets."""

    delay_s: float = 0.0
    hides_targets: bool = False


#: Everything, at once.
WHOLE = Sight()


@dataclass(frozen=True, slots=True)
class Invitation:
    """A link that pairs phones while it is good. ``uses_left`` None: any number of phones."""

    id: str
    role: Role
    label: str
    digest: str
    expires: float
    sight: Sight
    uses_left: int | None


@dataclass(frozen=True, slots=True)
class Pairing:
    """A phone that was let in. ``paired`` is ISO 8601 wall time, to show and for nothing else.

    ``invitation`` is the id of the one that let it in, which may be over by now.
    """

    id: str
    name: str
    role: Role
    digest: str
    expires: float
    sight: Sight
    invitation: str | None
    paired: str


@dataclass(frozen=True, slots=True)
class Invited:
    """A new invitation, and its secret for the only time."""

    invitation: Invitation
    secret: str = field(repr=False)


@dataclass(frozen=True, slots=True)
class Opened:
    """A new code of an invitation, and for how many seconds it may be typed."""

    code: str = field(repr=False)
    lasts_s: float


@dataclass(frozen=True, slots=True)
class Claimed:
    """A new pairing, and its token for the only time."""

    pairing: Pairing
    token: str = field(repr=False)


@dataclass(frozen=True, slots=True)
class Kept:
    """What outlives a restart, oldest first. Codes and tickets do not."""

    invitations: tuple[Invitation, ...] = ()
    pairings: tuple[Pairing, ...] = ()

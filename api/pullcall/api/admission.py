"""What guards and streams ask of whoever lets people in: a site's pairings, a board's passes."""

from __future__ import annotations

from contextlib import ExitStack
from typing import Protocol

from pullcall.access.records import Sight
from pullcall.access.role import Role


class Guest(Protocol):
    """Somebody who was let in."""

    @property
    def id(self) -> str:
        """Tells one phone from another; it opens nothing."""

    @property
    def name(self) -> str:
        """What the phone is called."""

    @property
    def role(self) -> Role:
        """What it was invited as."""

    @property
    def sight(self) -> Sight:
        """What it is shown."""


class Admission(Protocol):
    """Who is let in: by the token in a cookie, and to a stream by a ticket."""

    @property
    def cookie(self) -> str:
        """The name of the cookie that holds a token."""

    @property
    def trouble(self) -> str | None:
        """Why who is let in cannot be remembered; None if it can."""

    def now(self) -> float:
        """Monotonic seconds, for how often somebody may ask."""

    def pairing_of(self, token: str) -> Guest | None:
        """Whose token it is, while they are let in."""

    def ticket(self, pairing_id: str) -> str:
        """A ticket that opens a stream of this phone within 30 s."""

    def redeem(self, ticket: str) -> Guest | None:
        """Whose ticket it is, while they are let in."""

    async def until_gone(self, pairing_id: str) -> None:
        """Return once this phone is not let in any more."""

    def take_place(self, pairing_id: str | None, watches: bool) -> ExitStack | None:
        """A place for a stream of this phone, taken until it is closed; None where it has none.

        It is asked for and taken at once: of many that come together none slips in between. None
        for ``pairing_id`` is this machine itself.
        """

"""What guards and streams ask of whoever lets people in: a site's pairings, a board's passes."""

from __future__ import annotations

from contextlib import AbstractContextManager
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

    def present(self, pairing_id: str | None, watches: bool) -> AbstractContextManager[None]:
        """Count a stream of this phone while it is open; None: this machine's own."""

    def has_place(self, pairing_id: str | None, watches: bool) -> bool:
        """Whether this phone may open another stream."""

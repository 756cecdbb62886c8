"""Tickets: each opens one stream, once, soon."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pullcall.access.keys import digest
from pullcall.access.terms import TICKET_LASTS_S, TICKETS_OF_A_PHONE


@dataclass(frozen=True, slots=True)
class _Ticket:
    pairing: str
    until: float


class Tickets:
    """A few for each pairing, by digest: one phone's never push out another's.

    A ticket says only whose it is: whether they are still paired is for the register to say.
    """

    def __init__(self, new_secret: Callable[[], str]) -> None:
        self._new_secret = new_secret
        self._open: dict[str, _Ticket] = {}

    def issue(self, pairing: str, now: float) -> str:
        """A new ticket of a pairing; past a few its oldest is forgotten."""
        self.drop_expired(now)
        own = [key for key, ticket in self._open.items() if ticket.pairing == pairing]
        for key in own[: max(0, len(own) + 1 - TICKETS_OF_A_PHONE)]:
            del self._open[key]
        secret = self._new_secret()
        self._open[digest(secret)] = _Ticket(pairing, now + TICKET_LASTS_S)
        return secret

    def redeem(self, secret: str, now: float) -> str | None:
        """The pairing that a ticket is of; it is gone then."""
        ticket = self._open.pop(digest(secret), None)
        return ticket.pairing if ticket is not None and ticket.until > now else None

    def drop_expired(self, now: float) -> None:
        """Forget the tickets whose time is over."""
        self._open = {key: one for key, one in self._open.items() if one.until > now}

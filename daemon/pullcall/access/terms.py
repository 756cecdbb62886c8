"""For how long, for how many: every figure of pairing, with its reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from pullcall.access.records import WHOLE, Sight
from pullcall.access.role import Role
from pullcall.errors import RefusedError

_MINUTE_S = 60.0
_HOUR_S = 60.0 * _MINUTE_S
_DAY_S = 24.0 * _HOUR_S

#: A code lives long enough to be read out and typed, seconds.
CODE_LASTS_S = 2.0 * _MINUTE_S
#: Slips of the thumb that a code forgives; a stranger has five chances in a hundred million.
CODE_TRIES = 5
#: A ticket has to last from one request to the next over a poor link, seconds.
TICKET_LASTS_S = 30.0
#: Tickets that one phone may hold: a page needs one, and one more when it connects again.
TICKETS_OF_A_PHONE = 4
#: How late a watcher can be shown the cook, seconds: a few, because each needs a feed of its own.
DELAYS_S = (0.0, 60.0, 120.0, 300.0, 600.0)
#: What fits a line of the list of phones.
LONGEST_NAME = 40


@dataclass(frozen=True, slots=True)
class Terms:
    """An invitation's life in seconds, its uses (None: any number), and the life of a pairing.

    ``paired_s`` None: a pairing ends when its invitation does.
    """

    lasts_s: float
    longest_s: float
    uses: int | None
    paired_s: float | None


#: Whoever may act is invited in person, and stays for a season's weekends. A watcher's link is
#: passed around, so it ends by itself: with the contest day, or after a week at most.
_IN_PERSON = Terms(10.0 * _MINUTE_S, 10.0 * _MINUTE_S, 1, 30.0 * _DAY_S)
TERMS: Mapping[Role, Terms] = MappingProxyType(
    {
        Role.COOK: _IN_PERSON,
        Role.HAND: _IN_PERSON,
        Role.WATCHER: Terms(12.0 * _HOUR_S, 7.0 * _DAY_S, None, None),
    }
)


@dataclass(frozen=True, slots=True)
class Bounds:
    """The most that is kept. Past it invitations, and phones that may act, are refused.

    A watcher past ``watchers`` or ``of_a_link`` takes the place of another watcher.
    """

    invitations: int = 64
    codes: int = 4
    actors: int = 64
    watchers: int = 1000
    of_a_link: int = 800


BOUNDS = Bounds()


@dataclass(frozen=True, slots=True)
class Places:
    """The most streams at once: of one phone (a page has one, and another while it connects
    again), the first ones of phones that watch, and all further ones of those together."""

    of_a_phone: int = 4
    watchers: int = 1000
    further: int = 250


PLACES = Places()


def life_of(role: Role, lasts_s: float | None) -> float:
    """How long an invitation lasts, seconds. Raises RefusedError for more than its role may."""
    terms = TERMS[role]
    if lasts_s is None:
        return terms.lasts_s
    if not 0.0 < lasts_s <= terms.longest_s:
        longest = f"{terms.longest_s / _MINUTE_S:.0f} minutes"
        raise RefusedError(f"An invitation of a {role} lasts {longest} at most: ask for less.")
    return lasts_s


def check_sight(role: Role, sight: Sight) -> None:
    """Raise RefusedError where somebody who acts would be shown less, or for another delay."""
    if role is not Role.WATCHER and sight != WHOLE:
        raise RefusedError("Only a watcher can be shown less: leave the delay and the targets.")
    if sight.delay_s not in DELAYS_S:
        choices = ", ".join(f"{delay_s:.0f}" for delay_s in DELAYS_S)
        raise RefusedError(f"No watcher is shown the cook that late: choose {choices} seconds.")

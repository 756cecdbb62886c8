"""From when until when certificates count, on machines whose clock may be wrong.

Boards without a clock start in 1970 or at their last shutdown: their clock may be *behind*, by
the time they lay in a drawer. Phones know the time, and what counts is whether the certificate is
valid for them. So most of a certificate's days lie ahead of this machine's clock, and those before
it are for a clock that was ahead when the certificate was made, or a phone's that is behind.

In 1970 no dates worked out from the clock would be valid for any phone. The true time is then
taken to be the latest moment that is known to be past: when this program was written, or when the
certificate in hand was made. That is a guess, so the certificate is made anew once the clock is
plausible; until then one that is there stays, because this clock cannot judge it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

#: This program was written later: a clock that shows less is not set.
PLAUSIBLE_FROM = datetime(2026, 1, 1, tzinfo=UTC)

#: A fixed date that is past for every phone, whatever this machine's clock says.
_AUTHORITY_FROM = datetime(2020, 1, 1, tzinfo=UTC)
_AUTHORITY_LIFE = timedelta(days=3653)

#: Together 397 days: some systems refuse certificates that live longer (CA/Browser Forum
#: Baseline Requirements 6.3.2: at most 398).
_LEAF_BEFORE = timedelta(days=97)
_LEAF_AFTER = timedelta(days=300)

#: A certificate with less left is made anew, whatever goes on.
_LEAST_LEFT = timedelta(days=30)
#: At the start already with less than this left, while no phone is in the middle of something:
#: the clock may lag behind the phones' by the difference.
_LEAST_LEFT_AT_START = timedelta(days=270)


@dataclass(frozen=True, slots=True)
class Validity:
    """From when until when, both included; whole seconds, with a zone."""

    begins: datetime
    ends: datetime


def is_plausible(now: datetime) -> bool:
    """Whether a clock that shows ``now`` can be right."""
    return now >= PLAUSIBLE_FROM


def reckoned(now: datetime, known_past: datetime | None) -> datetime:
    """What to take for the time: the clock's, or the latest moment known to be past."""
    return now if is_plausible(now) else max(PLAUSIBLE_FROM, known_past or PLAUSIBLE_FROM)


def authority_validity(now: datetime) -> Validity:
    """Of an authority made ``now`` (as reckoned): ten years from now, and back to a fixed date."""
    return Validity(_AUTHORITY_FROM, _whole(now) + _AUTHORITY_LIFE)


def leaf_validity(now: datetime) -> Validity:
    """Of a site's certificate made ``now`` (as reckoned)."""
    # The last second counts too, so it is left out to stay within 397 days.
    ends = _whole(now) + _LEAF_AFTER - timedelta(seconds=1)
    return Validity(_whole(now) - _LEAF_BEFORE, ends)


def made_at(leaf: Validity) -> datetime:
    """When a site's certificate was made, as reckoned then."""
    return leaf.begins + _LEAF_BEFORE


def is_due(leaf: Validity, now: datetime, *, at_start: bool = False) -> bool:
    """Whether a certificate has to be made anew at a plausible ``now``."""
    least = _LEAST_LEFT_AT_START if at_start else _LEAST_LEFT
    return now < leaf.begins or leaf.ends - now < least


def _whole(moment: datetime) -> datetime:
    return moment.astimezone(UTC).replace(microsecond=0)

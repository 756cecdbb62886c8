"""The zone in which people at this machine read the time, summer time included."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, tzinfo


class LocalZone(tzinfo):
    """The machine's own zone with the offset of each moment.

    ``datetime.astimezone()`` gives the offset of one moment for good, which is wrong on the other
    side of a change to or from summer time.
    """

    def utcoffset(self, moment: datetime | None) -> timedelta:
        """Of a time by its hands; 1970 where none is asked about."""
        hands = (moment or datetime.fromtimestamp(0)).replace(tzinfo=None)  # noqa: DTZ006
        return hands - datetime.fromtimestamp(hands.timestamp(), UTC).replace(tzinfo=None)

    def dst(self, moment: datetime | None) -> timedelta | None:
        """Not told apart."""
        return None

    def tzname(self, moment: datetime | None) -> str | None:
        """The machine's name for it."""
        return None if moment is None else moment.replace(tzinfo=None).astimezone().tzname()

    def fromutc(self, moment: datetime) -> datetime:
        """The hands at a moment of UTC."""
        there = moment.replace(tzinfo=UTC).astimezone()
        first = there.replace(tzinfo=self, fold=0)
        return first if first.utcoffset() == there.utcoffset() else first.replace(fold=1)


def local(moment: datetime) -> datetime:
    """A moment as the clock on the wall shows it here."""
    return moment.astimezone(LocalZone())

"""Times of a cook on the clock on the wall."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from pullcall.report.degrees import clock


@dataclass(frozen=True, slots=True)
class Moments:
    """``started`` is the wall time of the cook's zero; None where its text is no time."""

    started: datetime | None

    def at(self, t: float) -> str:
        """The time of day, "13:57"; without a wall time minutes and seconds since the zero."""
        if self.started is None:
            return clock(t)
        return f"{self.started + timedelta(seconds=t):%H:%M}"

    def exact(self, t: float) -> str:
        """The same to the second."""
        if self.started is None:
            return clock(t)
        return f"{self.started + timedelta(seconds=t):%H:%M:%S}"

    def date(self) -> str:
        """The day, "13 June 2026"; empty where it is not known."""
        return "" if self.started is None else f"{self.started.day} {self.started:%B %Y}"

    def began(self) -> str:
        """The day and time of the cook's zero, "13 June 2026, 14:02"; empty where not known."""
        return "" if self.started is None else f"{self.date()}, {self.at(0.0)}"


def moments(started: str, zone: tzinfo | None) -> Moments:
    """The times of a cook that began then, in ``zone`` (None: this machine's)."""
    try:
        return Moments(datetime.fromisoformat(started).astimezone(zone))
    except (ValueError, OverflowError, OSError):
        return Moments(None)

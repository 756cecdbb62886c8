"""Turn-in windows as people write them: "14:00-14:30", on the clock on the wall."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta

from pullcall.events import CookHeader, Window

#: A longer one is a slip of the pen: turn-in windows last minutes, not half a day.
LONGEST_WINDOW_S = 6 * 3600.0
#: A window that closed this lately still is the one that a cook was meant for.
_STILL_MEANT = timedelta(hours=1)

_TIME = r"(\d{1,2}):(\d{2})"
_WINDOW = re.compile(rf"\s*{_TIME}\s*[-–]\s*{_TIME}\s*")
_CLOCK = re.compile(rf"\s*{_TIME}\s*")


def parse_window(text: str, now_wall: datetime) -> Window:
    """The next window of that name that has not closed at ``now_wall``, which carries a zone.

    The one under way counts, also when it opened before midnight. Times are in the zone of
    ``now_wall``, with the offset that it has on their own day. A night in which clocks are put
    forward may have no such window: then the next one counts. Raises ValueError with a sentence
    for any other text.
    """
    opens, closes = window_times(text)
    day = now_wall.date()
    for days in (-1, 0, 1, 2):
        found = _window_on(day + timedelta(days=days), opens, closes, now_wall)
        # In UTC: times of one zone are compared by their hands, which go back once a year.
        begins, ends = (moment.astimezone(UTC) for moment in found)
        if ends > max(begins, now_wall.astimezone(UTC)):
            return Window(*(moment.isoformat(timespec="seconds") for moment in found))
    raise AssertionError("one of the next two days has such a window")


def meant_anew(window: Window, now_wall: datetime) -> Window:
    """The window of the same hours and minutes, by a clock that is known better.

    One that closed within the last hour still is the one that was meant. Raises ValueError where
    the window's texts are no times, or are too far apart.
    """
    opens, closes = map(datetime.fromisoformat, (window.opens, window.closes))
    return parse_window(f"{opens:%H:%M}-{closes:%H:%M}", now_wall - _STILL_MEANT)


def window_times(text: str) -> tuple[time, time]:
    """When a window opens and closes, on whatever day. Raises ValueError with a sentence."""
    match = _WINDOW.fullmatch(text)
    if match is None:
        raise ValueError('write a window as opening and closing time, for example "14:00-14:30"')
    opens, closes = _time(match[1], match[2]), _time(match[3], match[4])
    length_s = 60.0 * ((_minutes(closes) - _minutes(opens)) % (24 * 60))
    if length_s == 0.0:
        raise ValueError("a window closes later than it opens: write for example 14:00-14:30")
    if length_s > LONGEST_WINDOW_S:
        raise ValueError(
            f"a window of {length_s / 3600:g} h is too long: write the opening time first, "
            "then the closing time, at most 6 h later"
        )
    return opens, closes


def parse_clock(text: str, now_wall: datetime) -> datetime:
    """A time of day such as "12:30", on the day and in the zone of ``now_wall``.

    Raises ValueError with a sentence for any other text.
    """
    match = _CLOCK.fullmatch(text)
    if match is None:
        raise ValueError('write a time of day in 24 hours, for example "12:30"')
    return datetime.combine(now_wall.date(), _time(match[1], match[2]), now_wall.tzinfo)


def window_span(window: Window, started: datetime) -> tuple[float, float]:
    """When ``window`` opens and closes, in seconds since ``started`` (which carries a zone).

    Raises ValueError where the window's texts are not ISO 8601 with an offset, or it closes
    before it opens.
    """
    try:
        opens, closes = map(datetime.fromisoformat, (window.opens, window.closes))
        span = (opens - started).total_seconds(), (closes - started).total_seconds()
    except (ValueError, TypeError) as exc:
        raise ValueError("a window has two times of ISO 8601 with an offset from UTC") from exc
    if span[1] <= span[0]:
        raise ValueError("a window closes later than it opens")
    return span


def _window_on(day: date, opens: time, closes: time, now: datetime) -> tuple[datetime, datetime]:
    later = day + timedelta(days=1) if closes < opens else day
    return (
        datetime.combine(day, opens, now.tzinfo),
        datetime.combine(later, closes, now.tzinfo),
    )


def _time(hours: str, minutes: str) -> time:
    if int(hours) > 23 or int(minutes) > 59:
        raise ValueError(f"{hours}:{minutes} is no time of day: write 00:00 to 23:59")
    return time(int(hours), int(minutes))


def _minutes(moment: time) -> int:
    return 60 * moment.hour + moment.minute


def zero_of(header: CookHeader) -> datetime | None:
    """The time of day at the cook's zero; None where its start's text is odd."""
    try:
        zero = datetime.fromisoformat(header.started)
    except ValueError:
        return None
    return zero if zero.tzinfo else None


def wall_time(header: CookHeader, t: float) -> str:
    """The time of day at ``t`` seconds of a cook, ISO 8601; its start's text where that is odd."""
    try:
        moment = datetime.fromisoformat(header.started) + timedelta(seconds=t)
    except (ValueError, OverflowError):
        return header.started
    return moment.isoformat(timespec="seconds")

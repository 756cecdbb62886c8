"""Times and numbers as tables write them."""

from __future__ import annotations

import math
import re
from datetime import datetime, tzinfo

from pullcall.log.fields import LARGEST

_CLOCK = re.compile(r"(?:(\d{1,4}):)?(\d{1,4}):(\d{1,2}(?:\.\d*)?)", re.ASCII)
_TIME_OF_DAY = re.compile(r"(?:[01]?\d|2[0-3]):[0-5]\d:[0-5]\d(?:[.,]\d*)?", re.ASCII)
_DAY_S = 86400.0
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
#: What is longer is not looked at: matching it would take a time that grows with its square.
_LONGEST = 100


def parse_number(text: str, has_comma: bool) -> float:
    """A finite number; with ``has_comma`` a comma stands for the decimal point.

    Raises ValueError with a sentence.
    """
    plain = text.strip().replace(",", ".") if has_comma else text.strip()
    if len(plain) > _LONGEST or _NUMBER.fullmatch(plain) is None or not abs(float(plain)) < LARGEST:
        raise ValueError(f"{text.strip()[:40]!r} is no number")
    return float(plain)


def parse_time(text: str, has_comma: bool, zone: tzinfo | None) -> float | datetime:
    """Seconds of "12.5", "12:31" or "1:02:03", or a date and time, in ``zone`` if it names none
    (None: this machine's, summer time or not as it was on that date).

    Raises ValueError with a sentence.
    """
    text = text.strip()
    clock = _CLOCK.fullmatch(text.replace(",", ".") if has_comma else text)
    if clock is not None:
        return 3600.0 * int(clock[1] or 0) + 60.0 * int(clock[2]) + float(clock[3])
    try:
        return parse_number(text, has_comma)
    except ValueError:
        pass
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(
            f"{text[:40]!r} is no time: seconds, 12:31 or 2026-06-13 14:03:05"
        ) from None
    if not 1970 <= moment.year < 2200:
        raise ValueError(f"{text[:40]!r} is in no year of cooks")
    if moment.tzinfo is not None:
        return moment
    return moment.astimezone() if zone is None else moment.replace(tzinfo=zone)


def past_midnight(text: str, time: float | datetime, before: float | datetime) -> float | datetime:
    """A time of day that falls back by more than half a day is one of the next day."""
    if not isinstance(time, float) or not isinstance(before, float):
        return time
    if _TIME_OF_DAY.fullmatch(text.strip()) is None or before - time <= _DAY_S / 2:
        return time
    return time + _DAY_S * math.ceil((before - time) / _DAY_S - 0.5)

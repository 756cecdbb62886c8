"""Times and numbers as tables write them."""

from __future__ import annotations

import re
from datetime import datetime, tzinfo

from pullcall.log.fields import LARGEST

_CLOCK = re.compile(r"(?:(\d{1,4}):)?(\d{1,4}):(\d{1,2}(?:\.\d*)?)", re.ASCII)
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)


def parse_number(text: str, has_comma: bool) -> float:
    """A finite number; with ``has_comma`` a comma stands for the decimal point.

    Raises ValueError with a sentence.
    """
    plain = text.strip().replace(",", ".") if has_comma else text.strip()
    if _NUMBER.fullmatch(plain) is None or not abs(float(plain)) < LARGEST:
        raise ValueError(f"{text.strip()[:40]!r} is no number")
    return float(plain)


def parse_time(text: str, has_comma: bool, zone: tzinfo | None) -> float | datetime:
    """Seconds of "12.5", "12:31" or "1:02:03", or a date and time, in ``zone`` if it names none.

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
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)

"""How long steps take, as people write it: "7-10 min", "90-120 s"."""

from __future__ import annotations

import re

from pullcall.events import Range

LONGEST_S = 24 * 3600.0
_UNIT_S = {"s": 1.0, "min": 60.0, "h": 3600.0}
_NUMBER = r"(\d{1,9}(?:\.\d{1,9})?)"
_RANGE = re.compile(rf"\s*{_NUMBER}(?:\s*[-–]\s*{_NUMBER})?\s*(s|min|h)\s*")
#: Shorter ranges are said in seconds.
_IN_SECONDS_BELOW_S = 180.0


def parse_range(text: object) -> Range:
    """The range of a text such as "7-10 min", "90-120 s" or "30 min" (always just as long).

    Raises ValueError with a sentence for anything else.
    """
    match = _RANGE.fullmatch(text) if isinstance(text, str) else None
    if match is None:
        raise ValueError('write how long it takes with s, min or h, for example "7-10 min"')
    unit_s = _UNIT_S[match[3]]
    low_s = float(match[1]) * unit_s
    high_s = low_s if match[2] is None else float(match[2]) * unit_s
    if high_s < low_s:
        raise ValueError(f'in "{match[0].strip()}" put the shorter time first')
    if high_s > LONGEST_S:
        raise ValueError(f'"{match[0].strip()}" is longer than a day: give at most 24 h')
    return Range(low_s, high_s)


def parse_duration(text: object) -> float:
    """Seconds of one duration such as "45 s". Raises ValueError with a sentence otherwise."""
    match = _RANGE.fullmatch(text) if isinstance(text, str) else None
    if match is None or match[2] is not None:
        raise ValueError('write one duration with s, min or h, for example "45 s"')
    return parse_range(text).low_s


def format_range(range_: Range) -> str:
    """Words that :func:`parse_range` reads back, to a second or a tenth of a minute."""
    if range_.high_s < _IN_SECONDS_BELOW_S:
        low, high, unit = f"{range_.low_s:.0f}", f"{range_.high_s:.0f}", "s"
    else:
        low, high, unit = _minutes(range_.low_s), _minutes(range_.high_s), "min"
    return f"{low} {unit}" if low == high else f"{low}-{high} {unit}"


def _minutes(seconds: float) -> str:
    return f"{seconds / 60.0:.1f}".removesuffix(".0")

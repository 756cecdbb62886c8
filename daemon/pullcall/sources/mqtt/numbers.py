"""Numbers as gateways write them."""

from __future__ import annotations

import math
import re

#: A number as text (JSON's own form, RFC 8259; a leading + and zeros do no harm).
_NUMBER = re.compile(r"[+-]?(?:\d{1,20}(?:\.\d{0,20})?|\.\d{1,20})(?:[eE][+-]?\d{1,3})?", re.ASCII)
_SHOWN = 20


def number_of(value: object) -> float | None:
    """A finite number, also one that is written as text; None for anything else."""
    if isinstance(value, bool):
        return None
    if isinstance(value, str):
        if _NUMBER.fullmatch(value.strip()) is None:
            return None
    elif not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def shown(value: object) -> str:
    """What is no number, as people can take it in."""
    if isinstance(value, str):
        return repr(value[:_SHOWN])
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "an object"
    return "a list" if isinstance(value, list) else "too large"

"""Single values of a record, checked; each raises ValueError with a sentence."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, TypeVar

from pullcall.events import MarkKind

#: No time or temperature of a cook comes near this; NaN and infinity fail the comparison too.
LARGEST = 1e9
#: Records are flat, or nearly so.
_DEEPEST = 32
_LONGEST_SHOWN = 60
T = TypeVar("T", bound=StrEnum)


def number(record: Mapping[str, Any], key: str) -> float:
    """A finite number."""
    value = record.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{key} must be a number, not {shown(value)}")
    if not -LARGEST < value < LARGEST:
        raise ValueError(f"{key} is out of range")
    return float(value)


def text(record: Mapping[str, Any], key: str) -> str:
    """A printable text that is not empty."""
    value = record.get(key)
    if not isinstance(value, str) or not value or not value.isprintable():
        raise ValueError(f"{key} must be a plain text, not {shown(value)}")
    return value


def maybe_text(record: Mapping[str, Any], key: str) -> str | None:
    """A text, or None where there is none."""
    return None if record.get(key) is None else text(record, key)


def mark(record: Mapping[str, Any]) -> MarkKind:
    """The kind of a mark."""
    return choice(record, "mark", MarkKind)


def choice(record: Mapping[str, Any], key: str, among: type[T]) -> T:
    """One of an enumeration's values."""
    try:
        return among(str(record.get(key)))
    except ValueError:
        known = ", ".join(among)
        raise ValueError(f"{key} must be one of {known}, not {shown(record.get(key))}") from None


def within(record: Mapping[str, Any], key: str, bounds: tuple[float, float]) -> float:
    """A number between two."""
    value = number(record, key)
    low, high = bounds
    if not low <= value <= high:
        raise ValueError(f"{key} must lie between {low:g} and {high:g}, not {value:g}")
    return value


def shown(value: object) -> str:
    """What was given instead, as far as it fits a sentence."""
    text = repr(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}…"


def is_shallow(value: object, levels: int = _DEEPEST) -> bool:
    """Whether it is not nested so deeply that writing it again could fail."""
    if isinstance(value, dict):
        return levels > 0 and all(is_shallow(one, levels - 1) for one in value.values())
    if isinstance(value, list):
        return levels > 0 and all(is_shallow(one, levels - 1) for one in value)
    return True

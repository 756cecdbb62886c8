"""The one codec between inputs and the records of a cook log (version 1)."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any

from pullcall.events import (
    Acknowledgement,
    Condition,
    End,
    Fault,
    Input,
    Mark,
    Reached,
    Reading,
    Restart,
    Setting,
    Shelving,
    Spot,
    Undo,
)
from pullcall.log.fields import choice, mark, maybe_text, number, shown, text

Record = Mapping[str, Any]
_OPTIONAL = {"channel", "at", "id", "detail"}


def to_line(record: Record) -> str:
    """One compact JSON line; the same record always gives the same bytes."""
    return json.dumps(record, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def input_record(event: Input) -> dict[str, Any]:
    """The record of one input; optional keys are left out where they are empty."""
    record: dict[str, Any] = {"record": _NAMES[type(event)]}
    for field in fields(event):
        value = getattr(event, field.name)
        if field.name in _OPTIONAL and value in (None, ""):
            continue
        record[field.name] = value
    return record


def parse_input(record: Record) -> Input | None:
    """The input of one record; None for a kind of record this version does not know.

    Raises ValueError with a sentence for a record that breaks the format.
    """
    kind = str(record.get("record"))
    return _KINDS[kind][1](number(record, "t"), record) if kind in _KINDS else None


def _reading(t: float, r: Record) -> Input:
    return Reading(t, maybe_text(r, "steak"), number(r, "celsius"), maybe_text(r, "channel"))


def _spot(t: float, r: Record) -> Input:
    return Spot(t, maybe_text(r, "steak"), number(r, "celsius"), _id(r))


def _mark(t: float, r: Record) -> Input:
    at = None if r.get("at") is None else number(r, "at")
    return Mark(t, maybe_text(r, "steak"), mark(r), _id(r), at)


def _setting(t: float, r: Record) -> Input:
    return Setting(t, maybe_text(r, "steak"), text(r, "name"), _setting_value(r))


def _condition(t: float, r: Record) -> Input:
    active, detail = r.get("active"), maybe_text(r, "detail") or ""
    if not isinstance(active, bool):
        raise ValueError(f"active must be true or false, not {shown(active)}")
    return Condition(t, choice(r, "fault", Fault), active, detail)


def _shelving(t: float, r: Record) -> Input:
    return Shelving(t, text(r, "call"), text(r, "by"), number(r, "for_s"))


_KINDS: dict[str, tuple[type[Input], Callable[[float, Record], Input]]] = {
    "reading": (Reading, _reading),
    "spot": (Spot, _spot),
    "mark": (Mark, _mark),
    "undo": (Undo, lambda t, r: Undo(t, text(r, "id"))),
    "setting": (Setting, _setting),
    "ack": (Acknowledgement, lambda t, r: Acknowledgement(t, text(r, "call"), text(r, "by"))),
    "shelve": (Shelving, _shelving),
    "condition": (Condition, _condition),
    "restart": (Restart, lambda t, r: Restart(t)),
    "reached": (Reached, lambda t, r: Reached(t)),
    "end": (End, lambda t, r: End(t)),
}
_NAMES = {kind: name for name, (kind, _) in _KINDS.items()}


def kinds() -> dict[str, type[Input]]:
    """What is logged as which kind of record."""
    return {name: kind for name, (kind, _) in _KINDS.items()}


def _id(record: Record) -> str:
    return maybe_text(record, "id") or ""


def _setting_value(record: Record) -> float | str | None:
    value = record.get("value")
    if value is None or isinstance(value, str):
        return value
    return number(record, "value")

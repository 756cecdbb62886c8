"""The one codec between inputs, headers and the records of a cook log (version 1)."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields
from types import MappingProxyType
from typing import Any

from pullcall.errors import LogFormatError
from pullcall.events import (
    USUAL_PATTERN,
    Acknowledgement,
    CarryOver,
    CookHeader,
    End,
    Input,
    Mark,
    MarkKind,
    PlannedMark,
    Reached,
    Reading,
    Setting,
    Spot,
    SteakSettings,
    Undo,
    Window,
)

VERSION = 1
#: No time or temperature of a cook comes near this; NaN and infinity fail the comparison too.
_LARGEST = 1e9
_KINDS: dict[str, type[Input]] = {
    "reading": Reading,
    "spot": Spot,
    "mark": Mark,
    "undo": Undo,
    "setting": Setting,
    "ack": Acknowledgement,
    "reached": Reached,
    "end": End,
}
_NAMES = {kind: name for name, kind in _KINDS.items()}
_OPTIONAL = {"channel", "at", "id"}
_HEADER_KEYS = {"record", "version", "cook", "started", "steaks", "rest_on", "plan", "window"} | {
    "simulated",
    "carry_over",
}


def to_line(record: Mapping[str, Any]) -> str:
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


def parse_input(record: Mapping[str, Any]) -> Input | None:
    """The input of one record; None for a kind of record this version does not know.

    Raises ValueError with a sentence for a record that breaks the format.
    """
    kind = _KINDS.get(str(record.get("record")))
    if kind is None:
        return None
    t = _number(record, "t")
    if kind is Reading:
        steak, channel = _maybe_text(record, "steak"), _maybe_text(record, "channel")
        return Reading(t, steak, _number(record, "celsius"), channel)
    if kind is Spot:
        return Spot(t, _text(record, "steak"), _number(record, "celsius"), _id(record))
    if kind is Mark:
        at = None if record.get("at") is None else _number(record, "at")
        return Mark(t, _maybe_text(record, "steak"), _mark(record), _id(record), at)
    if kind is End:
        return End(t)
    if kind is Reached:
        return Reached(t)
    if kind is Undo:
        return Undo(t, _text(record, "id"))
    if kind is Setting:
        return Setting(
            t, _maybe_text(record, "steak"), _text(record, "name"), _setting_value(record)
        )
    return Acknowledgement(t, _text(record, "call"), _text(record, "by"))


def header_record(header: CookHeader) -> dict[str, Any]:
    """The first line of a cook file."""
    record: dict[str, Any] = {
        "record": "cook",
        "version": VERSION,
        "cook": header.cook,
        "started": header.started,
        "steaks": [_without_none(_plain(s)) for s in header.steaks],
        "rest_on": header.rest_on,
        "plan": [{"t": p.t, "mark": str(p.mark)} for p in header.plan],
    }
    if header.carry_over is not CarryOver.FORECAST:
        record["carry_over"] = str(header.carry_over)
    if header.window:
        record["window"] = {"opens": header.window.opens, "closes": header.window.closes}
    if header.simulated:
        record["simulated"] = True
    return record | dict(header.extra)


def parse_header(record: Mapping[str, Any]) -> CookHeader:
    """The header of a cook; unknown keys are kept in ``extra``. Raises LogFormatError."""
    if record.get("record") != "cook":
        raise LogFormatError(
            'The first line is not a cook header: it must read {"record":"cook","version":1,…}.'
        )
    if record.get("version") != VERSION:
        raise LogFormatError(
            f"This log is version {record.get('version')!r} and this Pullcall reads version "
            f"{VERSION}: update Pullcall, or export the log again with the one that wrote it."
        )
    try:
        return _header(record)
    except (ValueError, TypeError, KeyError, AttributeError) as exc:
        raise LogFormatError(f"The cook header cannot be read ({exc}): correct line 1.") from exc


def _header(record: Mapping[str, Any]) -> CookHeader:
    steaks = tuple(_steak(s) for s in record["steaks"])
    if not steaks or len({s.steak for s in steaks}) != len(steaks):
        raise ValueError("steaks need at least one entry and names that differ")
    window = record.get("window")
    return CookHeader(
        cook=_text(record, "cook"),
        started=_text(record, "started"),
        steaks=steaks,
        rest_on=str(record.get("rest_on", "rack")),
        carry_over=CarryOver(str(record.get("carry_over", CarryOver.FORECAST))),
        plan=_plan(record),
        window=Window(_text(window, "opens"), _text(window, "closes")) if window else None,
        simulated=bool(record.get("simulated", False)),
        extra=MappingProxyType({k: v for k, v in record.items() if k not in _HEADER_KEYS}),
    )


def _steak(record: Mapping[str, Any]) -> SteakSettings:
    default = SteakSettings(_text(record, "steak"))
    numbers = {
        key: _number(record, key)
        for key in ("thickness_mm", "start_c", "pull_c", "target_c")
        if record.get(key) is not None
    }
    return SteakSettings(
        default.steak,
        thickness_mm=numbers.get("thickness_mm", default.thickness_mm),
        start_c=numbers.get("start_c", default.start_c),
        pull_c=numbers.get("pull_c", default.pull_c),
        target_c=numbers.get("target_c"),
        channel=_maybe_text(record, "channel"),
    )


def _plan(record: Mapping[str, Any]) -> tuple[PlannedMark, ...]:
    if "plan" not in record:
        return USUAL_PATTERN
    plan = tuple(PlannedMark(_number(p, "t"), _mark(p)) for p in record["plan"])
    if any(p.mark not in (MarkKind.TURN, MarkKind.FLIP) for p in plan):
        raise ValueError("a plan has only turns and flips")
    return plan


def _plain(steak: SteakSettings) -> dict[str, Any]:
    return {field.name: getattr(steak, field.name) for field in fields(steak)}


def _without_none(record: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in record.items() if value is not None}


def _number(record: Mapping[str, Any], key: str) -> float:
    value = record.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{key} must be a number, not {value!r}")
    if not -_LARGEST < value < _LARGEST:
        raise ValueError(f"{key} is out of range")
    return float(value)


def _text(record: Mapping[str, Any], key: str) -> str:
    value = record.get(key)
    if not isinstance(value, str) or not value or not value.isprintable():
        raise ValueError(f"{key} must be a plain text, not {value!r}")
    return value


def _maybe_text(record: Mapping[str, Any], key: str) -> str | None:
    return None if record.get(key) is None else _text(record, key)


def _id(record: Mapping[str, Any]) -> str:
    return _maybe_text(record, "id") or ""


def _mark(record: Mapping[str, Any]) -> MarkKind:
    try:
        return MarkKind(str(record.get("mark")))
    except ValueError:
        known = ", ".join(MarkKind)
        raise ValueError(f"mark must be one of {known}, not {record.get('mark')!r}") from None


def _setting_value(record: Mapping[str, Any]) -> float | str | None:
    value = record.get("value")
    if value is None or isinstance(value, str):
        return value
    return _number(record, "value")

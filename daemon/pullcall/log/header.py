"""The first line of a cook file: the settings that a cook starts with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from types import MappingProxyType
from typing import Any

from pullcall.errors import LogFormatError
from pullcall.events import (
    USUAL_PATTERN,
    CarryOver,
    CookHeader,
    FireSettings,
    Lessons,
    MarkKind,
    Normal,
    PlannedMark,
    PullBy,
    Range,
    SteakSettings,
    Window,
)
from pullcall.log.fields import LARGEST, choice, mark, maybe_text, number, shown, text, within

VERSION = 1
_KEYS = {
    "record",
    "version",
    "cook",
    "started",
    "steaks",
    "rest_on",
    "plan",
    "window",
    "simulated",
    "carry_over",
    "aim_share",
    "durations",
    "offset_s",
    "fire",
    "lessons",
}
_DEFAULT = CookHeader("", "")
#: Beyond this nothing can be reckoned; a person means far less.
_THICKNESS_MM, _TEMPERATURE_C = (1.0, 1000.0), (-300.0, 3000.0)
_ANY = (-LARGEST, LARGEST)
_MOST_STEAKS, _MOST_PLANNED, _MOST_STEPS = 2, 40, 40


def header_record(header: CookHeader) -> dict[str, Any]:
    """The first line of a cook file; what is as usual is left out."""
    record: dict[str, Any] = {
        "record": "cook",
        "version": VERSION,
        "cook": header.cook,
        "started": header.started,
        "steaks": [_steak_record(s) for s in header.steaks],
        "rest_on": header.rest_on,
        "plan": [{"t": p.t, "mark": str(p.mark)} for p in header.plan],
    }
    if header.window:
        record["window"] = {"opens": header.window.opens, "closes": header.window.closes}
    if header.durations:
        record["durations"] = {k: [r.low_s, r.high_s] for k, r in header.durations.items()}
    if header.fire != _DEFAULT.fire:
        record["fire"] = _without_none(_plain(header.fire))
    if header.lessons != _DEFAULT.lessons:
        record["lessons"] = _lessons_record(header.lessons)
    for key in ("carry_over", "aim_share", "offset_s", "simulated"):
        if getattr(header, key) != getattr(_DEFAULT, key):
            record[key] = getattr(header, key)
    return record | dict(header.extra)


def parse_header(record: Mapping[str, Any]) -> CookHeader:
    """The header of a cook; unknown keys are kept in ``extra``. Raises LogFormatError."""
    if record.get("record") != "cook":
        raise LogFormatError(
            'The first line is not a cook header: it must read {"record":"cook","version":1,…}.'
        )
    if record.get("version") != VERSION:
        raise LogFormatError(
            f"This log is version {shown(record.get('version'))} and this Pullcall reads version "
            f"{VERSION}: update Pullcall, or export the log again with the one that wrote it."
        )
    try:
        return _header(record)
    except (ValueError, TypeError, KeyError, AttributeError) as exc:
        raise LogFormatError(f"The cook header cannot be read ({exc}): correct line 1.") from exc


def _header(record: Mapping[str, Any]) -> CookHeader:
    steaks = tuple(_steak(s) for s in record["steaks"])
    if not 1 <= len(steaks) <= _MOST_STEAKS or len({s.steak for s in steaks}) != len(steaks):
        raise ValueError("there are one or two steaks, with names that differ")
    window = record.get("window")
    return CookHeader(
        cook=text(record, "cook"),
        started=text(record, "started"),
        steaks=steaks,
        rest_on=str(record.get("rest_on", "rack")),
        carry_over=CarryOver(str(record.get("carry_over", CarryOver.FORECAST))),
        plan=_plan(record),
        window=Window(text(window, "opens"), text(window, "closes")) if window else None,
        aim_share=_or(record, "aim_share", _DEFAULT.aim_share),
        durations=_durations(record.get("durations", {})),
        offset_s=_or(record, "offset_s", 0.0),
        fire=_fire(record.get("fire", {})),
        simulated=bool(record.get("simulated", False)),
        lessons=_lessons(record.get("lessons", {})),
        extra=MappingProxyType({k: v for k, v in record.items() if k not in _KEYS}),
    )


def _steak(record: Mapping[str, Any]) -> SteakSettings:
    usual = SteakSettings(text(record, "steak"))
    by = choice(record, "pull_by", PullBy) if "pull_by" in record else usual.pull_by
    return SteakSettings(
        usual.steak,
        thickness_mm=_or(record, "thickness_mm", usual.thickness_mm, _THICKNESS_MM),
        start_c=_or(record, "start_c", usual.start_c, _TEMPERATURE_C),
        pull_c=_or(record, "pull_c", usual.pull_c, _TEMPERATURE_C),
        target_c=_maybe(record, "target_c", _TEMPERATURE_C),
        channel=maybe_text(record, "channel"),
        pull_by=by,
        shift_c=_or(record, "shift_c", 0.0, _TEMPERATURE_C),
        look=maybe_text(record, "look") or "",
    )


def _steak_record(steak: SteakSettings) -> dict[str, Any]:
    """A steak; what a plain cook does not set is left out."""
    usual = SteakSettings(steak.steak)
    record = _without_none(_plain(steak))
    return {
        key: value
        for key, value in record.items()
        if key not in ("pull_by", "shift_c", "look") or value != getattr(usual, key)
    }


def _fire(record: Mapping[str, Any]) -> FireSettings:
    usual = FireSettings()
    return FireSettings(
        channel=maybe_text(record, "channel"),
        floor_c=_or(record, "floor_c", usual.floor_c),
        ceiling_c=_or(record, "ceiling_c", usual.ceiling_c),
    )


def _lessons_record(lessons: Lessons) -> dict[str, Any]:
    record: dict[str, Any] = {
        key: getattr(lessons, key)
        for key in ("climb_c", "own_climb_c", "band", "reaction_s")
        if getattr(lessons, key) != getattr(_DEFAULT.lessons, key)
    }
    if lessons.durations:
        record["durations"] = list(lessons.durations)
    if lessons.prior:
        record["prior"] = {name: [n.mean, n.sd] for name, n in lessons.prior.items()}
    return record


def _lessons(record: Mapping[str, Any]) -> Lessons:
    usual = Lessons()
    return Lessons(
        prior=MappingProxyType({n: _normal(pair) for n, pair in record.get("prior", {}).items()}),
        climb_c=_or(record, "climb_c", usual.climb_c),
        own_climb_c=None if record.get("own_climb_c") is None else number(record, "own_climb_c"),
        band=_or(record, "band", usual.band),
        reaction_s=_or(record, "reaction_s", usual.reaction_s),
        durations=tuple(str(name) for name in record.get("durations", ())),
    )


def _normal(pair: Any) -> Normal:
    mean, sd = pair
    return Normal(number({"": mean}, ""), number({"": sd}, ""))


def _durations(record: Mapping[str, Any]) -> Mapping[str, Range]:
    if len(record) > _MOST_STEPS:
        raise ValueError(f"durations are of at most {_MOST_STEPS} steps")
    return MappingProxyType({name: _range(ends) for name, ends in record.items()})


def _range(ends: Any) -> Range:
    low, high = ends
    return Range(number({"": low}, ""), number({"": high}, ""))


def _plan(record: Mapping[str, Any]) -> tuple[PlannedMark, ...]:
    if "plan" not in record:
        return USUAL_PATTERN
    plan = tuple(PlannedMark(number(p, "t"), mark(p)) for p in record["plan"])
    if len(plan) > _MOST_PLANNED:
        raise ValueError(f"a plan has at most {_MOST_PLANNED} turns and flips")
    if any(p.mark not in (MarkKind.TURN, MarkKind.FLIP) for p in plan):
        raise ValueError("a plan has only turns and flips")
    return plan


def _or(
    record: Mapping[str, Any], key: str, usual: float, bounds: tuple[float, float] = _ANY
) -> float:
    return usual if record.get(key) is None else within(record, key, bounds)


def _maybe(record: Mapping[str, Any], key: str, bounds: tuple[float, float]) -> float | None:
    return None if record.get(key) is None else within(record, key, bounds)


def _plain(settings: SteakSettings | FireSettings) -> dict[str, Any]:
    return {field.name: getattr(settings, field.name) for field in fields(settings)}


def _without_none(record: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in record.items() if value is not None}

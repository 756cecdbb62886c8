"""A cook from a table of temperatures: text in, cook file out."""

from __future__ import annotations

import csv
import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo

from pullcall.degrees import fahrenheit_to_celsius
from pullcall.errors import LogFormatError
from pullcall.events import (
    CookHeader,
    End,
    FireSettings,
    Input,
    Mark,
    MarkKind,
    Reading,
    SteakSettings,
)
from pullcall.log.cook_file import BrokenLine, CookFile
from pullcall.log.csv_times import parse_number, parse_time, past_midnight
from pullcall.log.records import input_record

MOST_ROWS = 200_000
#: Lines before the columns' names that some programs write.
_MOST_LINES_ABOVE = 50
_DELIMITERS = (",", ";", "\t")
_LONGEST_S = 2 * 86400.0
_COLDEST_C, _HOTTEST_C = -60.0, 1000.0
_USUAL_START_C = (-5.0, 40.0)


@dataclass(frozen=True, slots=True)
class Columns:
    """What the columns are called: of the time, of each steak's core, and of the grate if any."""

    time: str
    steaks: Mapping[str, str]
    grate: str | None = None

    def names(self) -> tuple[str, ...]:
        """Every name, the time's first."""
        return (self.time, *self.steaks.values(), *([self.grate] if self.grate else []))


@dataclass(frozen=True, slots=True)
class TableMark:
    """A mark that the table does not have, at a time as the table would write it."""

    mark: MarkKind
    steak: str
    time: str


@dataclass(frozen=True, slots=True)
class Told:
    """What a table does not say itself: which columns, ``F`` or ``C``, marks, millimetres."""

    columns: Columns
    unit: str
    marks: tuple[TableMark, ...] = ()
    thickness_mm: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Table:
    delimiter: str
    places: tuple[int, ...]
    lines: Iterator[tuple[int, str]]

    @property
    def has_comma(self) -> bool:
        return self.delimiter != ","


@dataclass(frozen=True, slots=True)
class _Row:
    time: float | datetime
    celsius: tuple[float | None, ...]


def decode_csv(data: bytes) -> str:
    """The text of a CSV file: UTF-8 or UTF-16 by its mark, else what older programs write."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def read_csv(
    text: str, told: Told, *, name: str, when: datetime, zone: tzinfo | None = None
) -> CookFile:
    """The cook that a table holds; rows that cannot be read are named by number and left out.

    ``name`` is the file's and makes the cook's id together with the first time. ``when`` is when
    the cook began where the table has no dates; ``zone`` is that of dates without one (None: this
    machine's). The cook's zero is the first row. Raises LogFormatError with a sentence where there
    is no cook in it.
    """
    table = _table(text.removeprefix("\ufeff"), told.columns)
    rows, broken = _rows(table, told, zone)
    if not rows:
        raise LogFormatError(f"The table has no row that can be read{_why(broken)}.")
    zero = rows[0].time
    inputs = [*_readings(rows, told.columns), *_marks(told, zero, table.has_comma, zone)]
    if not any(isinstance(event, Reading) for event in inputs):
        raise LogFormatError("The table has no temperature in the columns named: correct them.")
    inputs.sort(key=lambda event: event.t)
    inputs.append(End(inputs[-1].t))
    header = _header(told, inputs, _id(name, zero, text), zero, when)
    records = tuple(input_record(event) for event in inputs)
    return CookFile(header, tuple(inputs), records, tuple(broken))


def _table(text: str, columns: Columns) -> _Table:
    """The table whose head names every column, with the delimiter that its head is written with."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for number, line in enumerate(lines[:_MOST_LINES_ABOVE], start=1):
        for delimiter in _DELIMITERS:
            head = [cell.strip() for cell in _cells(line, delimiter)]
            if all(head.count(name) == 1 for name in columns.names()):
                places = tuple(head.index(name) for name in columns.names())
                return _Table(delimiter, places, enumerate(lines[number:], start=number + 1))
    raise LogFormatError(_no_columns(lines, columns))


def _no_columns(lines: list[str], columns: Columns) -> str:
    first = next((line for line in lines if line.strip()), "")
    delimiter = max(_DELIMITERS, key=first.count)
    there = ", ".join(repr(cell.strip()[:40]) for cell in _cells(first, delimiter)[:20])
    wanted = ", ".join(map(repr, columns.names()))
    return (
        f"The table needs each of the columns {wanted} once, and its first line reads {there}: "
        f"name them as they are written there."
    )


def _cells(line: str, delimiter: str) -> list[str]:
    """One line's cells; none for a line that is no CSV."""
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return []


def _rows(table: _Table, told: Told, zone: tzinfo | None) -> tuple[list[_Row], list[BrokenLine]]:
    """Rows in time order, and those that could not be read."""
    rows: list[_Row] = []
    broken: list[BrokenLine] = []
    for number, line in table.lines:
        cells = _cells(line, table.delimiter)
        if not any(cell.strip() for cell in cells) and not line.strip():
            continue
        if len(rows) + len(broken) == MOST_ROWS:
            raise LogFormatError(f"The table has more than {MOST_ROWS} rows: leave some out.")
        try:
            rows.append(_row(cells, table, told, rows, zone))
        except ValueError as exc:
            broken.append(BrokenLine(number, str(exc)))
    first = rows[0].time if rows else 0.0
    rows.sort(key=lambda row: _since(first, row.time))
    return rows, broken


def _row(
    cells: list[str], table: _Table, told: Told, before: list[_Row], zone: tzinfo | None
) -> _Row:
    if len(cells) <= max(table.places):
        raise ValueError("the row is too short")
    time, *values = (cells[place] for place in table.places)
    moment = parse_time(time, table.has_comma, zone)
    if before:
        moment = past_midnight(time, moment, before[-1].time)
        _since(before[0].time, moment)
    return _Row(moment, tuple(_celsius(value, told.unit, table.has_comma) for value in values))


def _celsius(text: str, unit: str, has_comma: bool) -> float | None:
    """None for an empty cell."""
    if not text.strip():
        return None
    value = parse_number(text, has_comma)
    celsius = round(fahrenheit_to_celsius(value) if unit == "F" else value, 3)
    if not _COLDEST_C <= celsius <= _HOTTEST_C:
        raise ValueError(f"{value:g} {unit} is out of range")
    return celsius


def _since(zero: float | datetime, time: float | datetime) -> float:
    """Seconds from one to the other. Raises ValueError where only one of them has a date, or
    they are no times of one cook."""
    if isinstance(zero, datetime) and isinstance(time, datetime):
        seconds = (time - zero).total_seconds()
    elif isinstance(zero, float) and isinstance(time, float):
        seconds = time - zero
    else:
        raise ValueError("the time is of another kind than the first row's")
    if abs(seconds) > _LONGEST_S:
        raise ValueError("the time lies more than two days from the first row's")
    return round(seconds, 3)


def _readings(rows: list[_Row], columns: Columns) -> Iterator[Input]:
    for row in rows:
        t = _since(rows[0].time, row.time)
        for place, celsius in enumerate(row.celsius):
            if celsius is not None:
                steak = list(columns.steaks)[place] if place < len(columns.steaks) else None
                yield Reading(t, steak, celsius, _channel(place))


def _channel(place: int) -> str:
    return f"table/{place + 1}"


def _marks(
    told: Told, zero: float | datetime, has_comma: bool, zone: tzinfo | None
) -> Iterator[Input]:
    latest: dict[str, tuple[float, MarkKind]] = {}
    for number, mark in enumerate(told.marks, start=1):
        try:
            moment = parse_time(mark.time, has_comma, zone)
            t = _since(zero, past_midnight(mark.time, moment, zero))
        except ValueError as exc:
            raise LogFormatError(
                f"The mark {mark.mark} of {mark.steak} cannot be placed ({exc}): "
                f"write its time as the table does."
            ) from None
        before = latest.get(mark.steak)
        if before is not None and before[0] > t:
            raise LogFormatError(f"{mark.steak} has {mark.mark} before {before[1]}: correct it.")
        latest[mark.steak] = t, mark.mark
        yield Mark(t, mark.steak, mark.mark, f"m{number}")


def _header(
    told: Told, inputs: list[Input], cook: str, zero: float | datetime, when: datetime
) -> CookHeader:
    started = zero if isinstance(zero, datetime) else when
    steaks = tuple(
        SteakSettings(
            steak,
            thickness_mm=told.thickness_mm.get(steak, SteakSettings(steak).thickness_mm),
            start_c=_start_c(steak, inputs),
            channel=_channel(place),
        )
        for place, steak in enumerate(told.columns.steaks)
    )
    grate = _channel(len(steaks)) if told.columns.grate else None
    return CookHeader(
        cook,
        started.isoformat(timespec="seconds" if started.microsecond == 0 else "milliseconds"),
        steaks=steaks,
        fire=FireSettings(channel=grate),
    )


def _start_c(steak: str, inputs: list[Input]) -> float:
    """What the probe showed as the steak went on, else first; the usual where that is no core."""
    on = [e.t for e in inputs if isinstance(e, Mark) and (e.steak, e.mark) == (steak, MarkKind.ON)]
    shown = [e for e in inputs if isinstance(e, Reading) and e.steak == steak]
    before = [e for e in shown if e.t <= on[0]] if on else shown[:1]
    low, high = _USUAL_START_C
    if before and low <= before[-1].celsius <= high:
        return before[-1].celsius
    return SteakSettings(steak).start_c


def _id(name: str, zero: float | datetime, text: str) -> str:
    """From the file's name and its first time; where that is no date, a few digits of the text."""
    stem = re.sub(r"[^a-z0-9]+", "-", name.rsplit("/", 1)[-1].rsplit(".", 1)[0].lower())
    digits = (
        f"{zero.astimezone(UTC):%Y%m%d-%H%M%S}"
        if isinstance(zero, datetime)
        else hashlib.sha256(text.encode(errors="replace")).hexdigest()[:8]
    )
    return f"{stem.strip('-')[:40] or 'table'}-{digits}"


def _why(broken: list[BrokenLine]) -> str:
    return f" ({broken[0]})" if broken else ""

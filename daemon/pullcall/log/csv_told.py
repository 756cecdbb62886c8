"""What a person says of a table, read from the command line or a query."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pullcall.errors import LogFormatError
from pullcall.events import MarkKind
from pullcall.log.csv_cook import Columns, TableMark, Told

#: Marks that can be given beside the table, in the order they happen.
MARKS = (MarkKind.ON, MarkKind.FLIP, MarkKind.OFF)
_MOST_STEAKS = 2
_LONGEST_NAME = 40
_LEAST_MM, _MOST_MM = 5.0, 120.0


def told_of(
    columns: str,
    unit: str | None,
    marks: Mapping[str, Sequence[str]],
    thickness: Sequence[str] = (),
    *,
    sign: str = "=",
) -> Told:
    """Columns such as ``time=Time,left=Probe1``, marks by kind such as ``left=0:40``.

    ``sign`` stands between a name and what is said of it. Raises LogFormatError with a sentence.
    """
    if unit not in ("F", "C"):
        raise LogFormatError("Say in which unit the table is: F or C. It is never guessed.")
    named = _columns(columns, sign)
    placed = tuple(
        TableMark(kind, *_of_steak(text, sign, named))
        for kind in MARKS
        for text in marks.get(str(kind), ())
    )
    millimetres = dict(_of_steak(text, sign, named) for text in thickness)
    return Told(named, unit, placed, {s: _thickness(mm) for s, mm in millimetres.items()})


def _columns(text: str, sign: str) -> Columns:
    columns: dict[str, str] = {}
    for part in text.split(","):
        name, column = _pair(part, sign)
        if name in columns or column in columns.values():
            raise LogFormatError(f"The columns name {name!r} or {column!r} twice: correct them.")
        columns[name] = column
    time, grate = columns.pop("time", None), columns.pop("grate", None)
    if time is None or not 1 <= len(columns) <= _MOST_STEAKS:
        raise LogFormatError(
            f"Name the column of the time and of one or two steaks: time{sign}Time,"
            f"left{sign}Probe1,right{sign}Probe2."
        )
    return Columns(time, columns, grate)


def _pair(text: str, sign: str) -> tuple[str, str]:
    name, found, value = (part.strip() for part in text.partition(sign))
    if not found or not name or not value:
        raise LogFormatError(f"Write NAME{sign}VALUE, for example left{sign}Probe1: {text!r}.")
    if len(name) > _LONGEST_NAME or not name.isprintable():
        raise LogFormatError(f"A steak's name has 1 to {_LONGEST_NAME} plain letters: {name!r}.")
    return name, value


def _of_steak(text: str, sign: str, columns: Columns) -> tuple[str, str]:
    steak, value = _pair(text, sign)
    if steak not in columns.steaks:
        known = " or ".join(columns.steaks)
        raise LogFormatError(f"There is no steak {steak!r} in the columns: it is {known}.")
    return steak, value


def _thickness(text: str) -> float:
    try:
        thickness_mm = float(text)
    except ValueError:
        thickness_mm = 0.0
    if not _LEAST_MM <= thickness_mm <= _MOST_MM:
        raise LogFormatError(
            f"A thickness lies between {_LEAST_MM:g} and {_MOST_MM:g} mm, not {text!r}."
        )
    return thickness_mm

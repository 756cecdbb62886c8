"""A cook as JSON Lines, version 1: what export writes and import and replay read."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pullcall.core.omission import Omission, without
from pullcall.errors import LogError, LogFormatError
from pullcall.events import CookHeader, Input, Note
from pullcall.log.fields import is_shallow, number
from pullcall.log.header import header_record, parse_header
from pullcall.log.note_records import parse_note
from pullcall.log.omissions import parse_omission
from pullcall.log.records import input_record, parse_input, to_line

#: Characters of a line that is read: no record is a thousandth as long.
_LONGEST = 1024 * 1024


@dataclass(frozen=True, slots=True)
class BrokenLine:
    """A line that could not be read; the rest of the file is kept."""

    number: int
    reason: str

    def __str__(self) -> str:
        return f"line {self.number}: {self.reason}"


@dataclass(frozen=True, slots=True)
class CookFile:
    """One cook read from a file: inputs in time order, and the lines that were left out.

    ``records`` are the lines as they stood (unknown keys and kinds included), in file order;
    ``notes`` are what people wrote in the logbook, oldest first: no inputs, nothing replays them.
    What ``omissions`` leave out stands in ``records`` and not in ``inputs``.
    """

    header: CookHeader
    inputs: tuple[Input, ...]
    records: tuple[dict[str, Any], ...]
    broken: tuple[BrokenLine, ...]
    notes: tuple[Note, ...] = ()
    omissions: tuple[Omission, ...] = ()

    @property
    def ends_t(self) -> float:
        """The time of the last input, or at which inputs were last left out, cook seconds."""
        last = self.inputs[-1:]
        return max((one.t for one in (*last, *self.omissions)), default=0.0)


def read_cook_file(path: Path) -> CookFile:
    """Read a cook file. Raises LogError where the file or its header cannot be read at all."""
    try:
        text = path.read_text(encoding="utf-8", errors="replace")
    except OSError as exc:
        raise LogError(f"Cannot read {path}: {exc.strerror}. Check the path.") from exc
    return parse_cook_lines(text.split("\n"))


def parse_cook_lines(lines: Iterable[str]) -> CookFile:
    """Parse a cook from lines; a broken line is named by number and the rest is kept."""
    numbered = ((n, line) for n, line in enumerate(lines, start=1) if line.strip())
    try:
        first = next(numbered)[1]
        header = parse_header(_object(first))
    except StopIteration:
        raise LogFormatError("The file is empty: export the cook again.") from None
    except ValueError as exc:
        raise LogFormatError(f"The first line is not a cook header ({exc}).") from exc
    return _body(header, numbered)


def _body(header: CookHeader, numbered: Iterator[tuple[int, str]]) -> CookFile:
    inputs: list[Input] = []
    notes: list[Note] = []
    omissions: list[Omission] = []
    records: list[dict[str, Any]] = []
    broken: list[BrokenLine] = []
    for place, line in numbered:
        try:
            record = _object(line)
            event, note = parse_input(record), parse_note(record)
            omission = parse_omission(record)
        except ValueError as exc:
            broken.append(BrokenLine(place, str(exc)))
            continue
        records.append(record)
        if event is not None:
            inputs.append(event)
        if note is not None:
            notes.append(note)
        if omission is not None:
            omissions.append(omission)
    inputs.sort(key=lambda event: event.t)  # stable: equal times keep the order of the file
    left = without(inputs, omissions) if omissions else tuple(inputs)
    return CookFile(header, left, tuple(records), tuple(broken), tuple(notes), tuple(omissions))


def _object(line: str) -> dict[str, Any]:
    if len(line) > _LONGEST:
        raise ValueError("longer than any record")
    try:
        record = json.loads(line, parse_float=_finite, parse_constant=_finite)
    except (json.JSONDecodeError, RecursionError) as exc:
        raise ValueError(f"not JSON ({exc})") from exc
    if not isinstance(record, dict):
        raise ValueError("not a JSON object")
    if not is_shallow(record):
        raise ValueError("nested too deep")
    if "\\u" in line and not _can_be_written(record):
        raise ValueError("a text holds half a character, so it is not a plain text")
    return record


def _can_be_written(record: dict[str, Any]) -> bool:
    """Whether no text holds half of a surrogate pair: JSON can say that, UTF-8 cannot."""
    try:
        return bool(to_line(record).encode())
    except UnicodeEncodeError:
        return False


def _finite(text: str) -> float:
    """JSON has no NaN and no infinity, and neither could be written again."""
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text} is no number of JSON")
    return number


def cook_lines(header: CookHeader, inputs: Iterable[Input]) -> Iterator[str]:
    """The lines of a cook file, header first, without line ends."""
    yield to_line(header_record(header))
    for event in inputs:
        yield to_line(input_record(event))


def in_time_order(
    records: Iterable[dict[str, Any]],
) -> list[tuple[float | None, dict[str, Any]]]:
    """Records with their times; one without a number for a time stays beside the one before."""
    latest, keyed = -math.inf, []
    for record in records:
        t = time_of(record)
        latest = latest if t is None else t
        keyed.append((latest, t, record))
    keyed.sort(key=lambda key: key[0])
    return [(t, record) for _, t, record in keyed]


def time_of(record: dict[str, Any]) -> float | None:
    """When it was logged, cook seconds; None where it does not say."""
    try:
        return number(record, "t")
    except ValueError:
        return None

"""The lines of a spill file: each can be told from one that was torn, or of an earlier spill."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from zlib import crc32

from pullcall.core.omission import Omission
from pullcall.errors import LogError, LogFormatError
from pullcall.events import Call
from pullcall.log.call_records import call_record
from pullcall.log.entries import Begun, Ended, Entry, Moved, Place, Spilled, What
from pullcall.log.header import header_record, parse_header
from pullcall.log.omissions import omission_record
from pullcall.log.records import input_record, to_line

VERSION = 1
#: A file that begins with so many zeros holds nothing: a first line is longer.
_HEAD = 64


@dataclass(frozen=True, slots=True)
class Heading:
    """The first line: which spill this is, the number of its first entry, and how far the log had
    come before that one."""

    spill: str
    first: int
    after: Place


@dataclass(frozen=True, slots=True)
class SpilledPart:
    """What a spill file holds: every whole line of it."""

    heading: Heading
    entries: tuple[Entry, ...]


def heading_line(heading: Heading) -> bytes:
    """The first line of a spill file."""
    after = [heading.after.record, heading.after.call]
    record = {"version": VERSION, "spill": heading.spill, "first": heading.first, "after": after}
    return _sealed("", to_line(record))


def entry_line(spill: str, entry: Entry) -> bytes:
    """The line of an entry; its checksum holds in this spill alone."""
    return _sealed(spill, to_line({"cook": entry.cook, **_record(as_spilled(entry.what))}))


def read_lines(data: bytes) -> tuple[SpilledPart, int] | None:
    """What the bytes of a spill file hold, up to the first line that is not whole, and how many
    bytes that is; None where they hold nothing.

    Raises LogFormatError where it is not this version's, or its first line is not whole.
    """
    if not data[:_HEAD].strip(b"\0"):
        return None
    lines = data.split(b"\n")
    first = _unsealed("", lines[0])
    heading = None if first is None else _heading(first)
    if heading is None:
        raise LogFormatError("damaged, or of another version of Pullcall")
    part = SpilledPart(heading, tuple(_entries(heading.spill, iter(lines[1:]))))
    return part, sum(len(line) + 1 for line in lines[: 1 + len(part.entries)])


def as_spilled(what: What) -> What:
    """Inputs, omissions and announcements as the text they are logged as; all else as it is."""
    if isinstance(what, Call):
        return Spilled(what.t, to_line(call_record(what)), is_call=True)
    if isinstance(what, Begun | Ended | Moved | Spilled):
        return what
    if isinstance(what, Omission):
        return Spilled(what.t, to_line(omission_record(what)), is_call=False)
    return Spilled(what.t, to_line(input_record(what)), is_call=False)


def _sealed(salt: str, text: str) -> bytes:
    return f"{crc32(f'{salt} {text}'.encode()):08x} {text}\n".encode()


def _unsealed(salt: str, line: bytes) -> dict[str, Any] | None:
    seal, _, text = line.partition(b" ")
    if f"{crc32(salt.encode() + b' ' + text):08x}".encode() != seal:
        return None
    try:
        record = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return record if isinstance(record, dict) else None


def _heading(record: dict[str, Any]) -> Heading | None:
    if record.get("version") != VERSION:
        return None
    return Heading(record["spill"], record["first"], Place(*record["after"]))


def _entries(spill: str, lines: Iterator[bytes]) -> Iterator[Entry]:
    for line in lines:
        record = _unsealed(spill, line)
        what = None if record is None else _what(record)
        if record is None or what is None:
            return
        yield Entry(record["cook"], what)


def _record(what: What) -> dict[str, Any]:
    match what:
        case Spilled(t, body, is_call):
            return {"t": t, "call" if is_call else "input": body}
        case Begun(header, boot, zero):
            return {"begun": header_record(header), "boot": boot, "zero": zero}
        case Ended(when):
            return {"ended": when}
        case Moved(boot, zero):
            return {"boot": boot, "zero": zero}
    raise AssertionError(what)


def _what(record: dict[str, Any]) -> What | None:
    """What a line says; None for what this version does not know."""
    match record:
        case {"t": float(t) | int(t), "call": str(body)}:
            return Spilled(t, body, is_call=True)
        case {"t": float(t) | int(t), "input": str(body)}:
            return Spilled(t, body, is_call=False)
        case {"begun": dict(header), "boot": str(boot), "zero": float(zero) | int(zero)}:
            try:
                return Begun(parse_header(header), boot, zero)
            except (ValueError, LogError):
                return None
        case {"ended": str(when)}:
            return Ended(when)
        case {"boot": str(boot), "zero": float(zero) | int(zero)}:
            return Moved(boot, zero)
    return None

"""The one codec between notes of the logbook and their records."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pullcall.events import Note, NoteValue
from pullcall.log.fields import maybe_text, number, text

_KIND = "note"


def note_record(note: Note) -> dict[str, Any]:
    """The record of one note."""
    value = list(note.value) if isinstance(note.value, tuple) else note.value
    return {
        "record": _KIND,
        "wall": note.wall,
        "steak": note.steak,
        "name": note.name,
        "value": value,
    }


def parse_note(record: Mapping[str, Any]) -> Note | None:
    """The note of one record; None for another kind, or a value this version does not know.

    Raises ValueError with a sentence for a note that breaks the format.
    """
    if record.get("record") != _KIND:
        return None
    wall, steak, name = text(record, "wall"), maybe_text(record, "steak"), text(record, "name")
    if "value" not in record:
        raise ValueError("value is missing: null takes a note out")
    if not _is_known(record["value"]):
        return None
    return Note(wall, steak, name, _value(record))


def _is_known(value: object) -> bool:
    if isinstance(value, list):
        return all(isinstance(one, str) for one in value)
    return value is None or (isinstance(value, str | int | float) and not isinstance(value, bool))


def _value(record: Mapping[str, Any]) -> NoteValue:
    value = record["value"]
    if isinstance(value, list):
        return tuple(value)
    return value if value is None or isinstance(value, str) else number(record, "value")

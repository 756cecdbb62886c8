"""What people may write in the logbook, checked before it is logged."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import replace

from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import Note, NoteValue

#: What is said of a whole cook, and of one steak.
COOK_NAMES = ("place", "contest", "notes", "rest_board", "tags", "photos", "handed_in")
STEAK_NAMES = ("notes", "weight_g", "photos")
#: ``score.<category>``: the categories are the contest's own.
SCORE = "score."
_LISTS = ("tags", "photos")
_LONGEST_TEXT, _LONGEST_TAG, _LONGEST_PHOTO, _LONGEST_CATEGORY = 2000, 40, 500, 40
_MOST_IN_A_LIST = 40
_HEAVIEST_G, _HIGHEST_SCORE = 5000.0, 1000.0


def check_note(note: Note, steaks: Sequence[str]) -> Note:
    """The note as it is to be logged: texts stripped, None for what is empty.

    Raises RefusedError with a sentence that says what to write instead.
    """
    if note.steak is not None and note.steak not in steaks:
        raise UnknownNameError(f"There is no steak {note.steak!r}: it is {_or(steaks)}.")
    _check_name(note)
    value = _stripped(note.value)
    if value is not None:
        value = _checked(note.name, value, steaks)
    return replace(note, value=value)


def parse_note_text(text: str) -> tuple[str, NoteValue]:
    """Name and value of ``place=Riverside``; nothing after the sign takes the note out.

    Weights are numbers, scores where they can be; tags and photos are separated by commas.
    Raises RefusedError for a text without a name and ``=``.
    """
    name, sign, value = (part.strip() for part in text.partition("="))
    if not sign or not name:
        raise RefusedError(f'Write a note as NAME=VALUE, for example "place=Riverside": {text!r}.')
    if not value:
        return name, None
    if name in _LISTS:
        return name, tuple(one.strip() for one in value.split(",") if one.strip())
    if name == "weight_g" or name.startswith(SCORE):
        return name, number_or_text(value)
    return name, value


def standing(notes: Iterable[Note]) -> tuple[Note, ...]:
    """The latest of each name and steak, in the order first written; what was taken out is gone."""
    latest: dict[tuple[str | None, str], Note] = {}
    for note in notes:
        latest[note.steak, note.name] = note
    return tuple(note for note in latest.values() if note.value not in (None, "", ()))


def _check_name(note: Note) -> None:
    names = STEAK_NAMES if note.steak else COOK_NAMES
    if note.name.startswith(SCORE) and note.steak is None:
        category = note.name.removeprefix(SCORE)
        _check_text(category, _LONGEST_CATEGORY, "A score's category")
        if category != category.strip() or not category.isprintable():
            raise RefusedError("Write a score's category in plain letters, no spaces around it.")
    elif note.name not in names:
        known = _or([*names, *([] if note.steak else [f"{SCORE}CATEGORY"])])
        of = "a steak" if note.steak else "a cook"
        raise UnknownNameError(f"The logbook has no {note.name!r} of {of}: it is {known}.")


def _checked(name: str, value: float | str | tuple[str, ...], steaks: Sequence[str]) -> NoteValue:
    if name in _LISTS:
        return _checked_list(name, value)
    if isinstance(value, tuple):
        raise RefusedError(f"Write one {name}, not a list.")
    if name == "weight_g":
        return _checked_number("A weight", value, 1.0, _HEAVIEST_G, "grams")
    if isinstance(value, float):
        if not name.startswith(SCORE):
            raise RefusedError(f"Write {name} as a text.")
        return _checked_number("A score", value, -_HIGHEST_SCORE, _HIGHEST_SCORE, "points")
    if name == "handed_in" and value not in steaks:
        raise UnknownNameError(f"There is no steak {value!r} to hand in: it is {_or(steaks)}.")
    if name.startswith(SCORE) and _is_no_figure(value):
        raise RefusedError(f"Write a score as a number or in words, not as {value!r}.")
    _check_text(value, _LONGEST_TEXT, f"The text of {name}")
    return value


def _checked_list(name: str, value: float | str | tuple[str, ...]) -> tuple[str, ...]:
    if not isinstance(value, tuple):
        raise RefusedError(f"Write {name} as a list.")
    if len(value) > _MOST_IN_A_LIST:
        raise RefusedError(f"Write at most {_MOST_IN_A_LIST} {name}.")
    for one in value:
        if name == "tags":
            _check_text(one, _LONGEST_TAG, "A tag")
        else:
            _check_text(one, _LONGEST_PHOTO, "A photo's path")
    return value


def _checked_number(what: str, value: float | str, least: float, most: float, unit: str) -> float:
    if isinstance(value, str) or not least <= value <= most:
        raise RefusedError(f"{what} lies between {least:g} and {most:g} {unit}, not {value!r}.")
    return value


def _check_text(text: str, longest: int, what: str) -> None:
    if not 1 <= len(text) <= longest:
        raise RefusedError(f"{what} has 1 to {longest} characters: write it shorter.")
    if any(unicodedata.category(c) in ("Cc", "Cs") and c not in "\n\t" for c in text):
        raise RefusedError(f"{what} holds a character that cannot be written: type it again.")


def _stripped(value: NoteValue) -> NoteValue:
    """Without space around texts; None where nothing is left."""
    if isinstance(value, str):
        return value.strip().replace("\r\n", "\n") or None
    if isinstance(value, tuple):
        return tuple(dict.fromkeys(one.strip() for one in value if one.strip())) or None
    return None if value is None else float(value)


def number_or_text(text: str) -> float | str:
    """A finite number where the text is one."""
    try:
        value = float(text)
    except ValueError:
        return text
    return value if math.isfinite(value) else text


def _is_no_figure(text: str) -> bool:
    """Whether a text is what programs write in place of a number, or one beyond all numbers."""
    try:
        return not math.isfinite(float(text))
    except ValueError:
        return False


def _or(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"

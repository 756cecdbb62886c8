"""What people write in the logbook and choose of what was learned."""

from __future__ import annotations

import math

from pullcall.errors import RefusedError
from pullcall.events import Note
from pullcall.learning.choice import Choice, Mode
from pullcall.log.foreign_rows import read_choice
from pullcall.log.note_records import note_record, parse_note
from pullcall.logbook.notes import check_note, parse_note_text
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_json, check_words
from tests.fuzz.target import Target

_STEAKS = ("left", "right")
_FIGURES = (None, 0.0, 2.5, -1e4, 1e300, math.inf, -math.inf)


def check(data: bytes) -> None:
    """A steak, and NAME=VALUE; what is taken is written in the log and read back as it was."""
    cards = Cards(data)
    steak, figure = cards.pick((None, "left", "middle")), cards.pick(_FIGURES)
    text = cards.rest().decode("utf-8", "replace")
    if data[:1] == b"\xff":
        text += "\ud800"  # what JSON can say and UTF-8 cannot
    _choose(text, figure)
    try:
        name, value = parse_note_text(text)
        note = check_note(Note("2026-06-13T15:00:00Z", steak, name, value), _STEAKS)
    except RefusedError as error:
        check_words(str(error))
        return
    check_json(note_record(note))
    assert parse_note(note_record(note)) == note
    assert check_note(note, _STEAKS) == note


def _choose(text: str, figure: float | None) -> None:
    mode, _, name = text.partition("=")
    try:
        choice = read_choice(("w", name, mode, figure))
    except ValueError as error:
        check_words(str(error))
        return
    assert choice == Choice("w", name, Mode(mode), figure)
    assert choice.value is None or abs(choice.value) < 1e4


TARGET = Target(
    check,
    (
        b"\x00\x00place=Riverside",
        b"\x00\x01tags=a, b,a",
        b"\x01\x02weight_g=420",
        b"\x00\x03score.taste=8.5",
        b"\x00\x04score.=nan",
        b"\x00\x05notes=a\r\nb\x00",
        b"\x00\x02own=reaction",
        b"\x00\x00handed_in=left",
    ),
    (b"place=", b"contest=", b"notes=", b"rest_board=", b"tags=", b"photos=", b"handed_in=",
     b"weight_g=", b"score.", b"own=", b"learned=", b"default=", b"left"),
    longest=2500,
)  # fmt: skip

"""Only what the logbook can show again is written, and a refusal says what to write instead."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.errors import RefusedError
from pullcall.events import Note, NoteValue
from pullcall.log.note_records import note_record, parse_note
from pullcall.log.records import to_line
from pullcall.logbook.notes import check_note, parse_note_text, standing

STEAKS = ("left", "right")


def _note(name: str, value: NoteValue, steak: str | None = None) -> Note:
    return Note("2026-06-13T18:00:00+00:00", steak, name, value)


@pytest.mark.parametrize(
    ("note", "kept"),
    [
        (_note("place", "  Riverside "), "Riverside"),
        (_note("notes", "one\r\ntwo \u00bc \U0001f525"), "one\ntwo \u00bc \U0001f525"),
        (_note("tags", (" windy", "windy", "")), ("windy",)),
        (_note("photos", ("a.jpg", "b.jpg"), "left"), ("a.jpg", "b.jpg")),
        (_note("weight_g", 480, "left"), 480.0),
        (_note("score.first bite", 8.5), 8.5),
        (_note("score.taste", "8 of 10"), "8 of 10"),
        (_note("handed_in", "left"), "left"),
        (_note("place", " "), None),
        (_note("tags", ()), None),
        (_note("place", None), None),
    ],
)
def test_a_note_is_kept_as_it_will_be_shown(note: Note, kept: NoteValue) -> None:
    assert check_note(note, STEAKS).value == kept


@pytest.mark.parametrize(
    ("note", "says"),
    [
        (_note("place", "x", "middle"), "it is left or right"),
        (_note("pit", "x"), "it is place, contest"),
        (_note("place", "x", "left"), "it is notes, weight_g or photos"),
        (_note("weight_g", 480.0), "no 'weight_g' of a cook"),
        (_note("weight_g", 480.0, "both"), "no steak 'both'"),
        (_note("weight_g", "heavy", "left"), "between 1 and 5000 grams"),
        (_note("weight_g", float("nan"), "left"), "between 1 and 5000 grams"),
        (_note("weight_g", 0.0, "left"), "between 1 and 5000 grams"),
        (_note("score.taste", float("inf")), "between -1000 and 1000"),
        (_note("score.taste", "nan"), "as a number or in words"),
        (_note("score.taste", " -Infinity"), "as a number or in words"),
        (_note("score.taste", "1e999"), "as a number or in words"),
        (_note("score.", 8.0), "1 to 40 characters"),
        (_note("score." + "x" * 41, 8.0), "1 to 40 characters"),
        (_note("score. taste", 8.0), "no spaces around"),
        (_note("score.taste", 8.0, "left"), "no 'score.taste' of a steak"),
        (_note("tags", "windy"), "as a list"),
        (_note("tags", ("x" * 41,)), "A tag has 1 to 40 characters"),
        (_note("tags", tuple(map(str, range(41)))), "at most 40 tags"),
        (_note("place", ("a", "b")), "not a list"),
        (_note("place", 3.0), "as a text"),
        (_note("notes", "x" * 2001), "1 to 2000 characters"),
        (_note("notes", "bell \x07"), "cannot be written"),
        (_note("notes", "half \ud800"), "cannot be written"),
        (_note("handed_in", "middle"), "no steak 'middle'"),
    ],
)
def test_what_cannot_be_written_says_what_to_write(note: Note, says: str) -> None:
    with pytest.raises(RefusedError, match=says):
        check_note(note, STEAKS)


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("place=Riverside", ("place", "Riverside")),
        ("notes= a = b ", ("notes", "a = b")),
        ("place=", ("place", None)),
        ("tags=windy, new coal,", ("tags", ("windy", "new coal"))),
        ("weight_g=480", ("weight_g", 480.0)),
        ("weight_g=heavy", ("weight_g", "heavy")),
        ("score.taste=8.5", ("score.taste", 8.5)),
        ("score.taste=very good", ("score.taste", "very good")),
    ],
)
def test_a_note_is_read_from_the_command_line(text: str, read: tuple[str, NoteValue]) -> None:
    assert parse_note_text(text) == read


@pytest.mark.parametrize("text", ["place", "=Riverside", ""])
def test_a_note_without_a_name_says_how_to_write_one(text: str) -> None:
    with pytest.raises(RefusedError, match="NAME=VALUE"):
        parse_note_text(text)


def test_the_latest_note_stands_and_what_was_taken_out_is_gone() -> None:
    notes = [
        _note("place", "Riverside"),
        _note("notes", "of the cook"),
        _note("notes", "of the steak", "left"),
        _note("place", "Hill"),
        _note("notes", None),
    ]
    assert [(n.steak, n.value) for n in standing(notes)] == [
        (None, "Hill"),
        ("left", "of the steak"),
    ]


@given(
    st.text(max_size=12) | st.sampled_from(["notes", "tags", "score.a", "weight_g", "handed_in"]),
    st.none() | st.floats() | st.text() | st.lists(st.text()).map(tuple),
    st.none() | st.just("left"),
)
def test_any_note_is_kept_or_refused(name: str, value: NoteValue, steak: str | None) -> None:
    try:
        kept = check_note(_note(name, value, steak), STEAKS)
    except RefusedError:
        return
    assert check_note(kept, STEAKS) == kept
    assert parse_note(json.loads(to_line(note_record(kept)))) == kept

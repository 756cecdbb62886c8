"""A row says what header, notes and facts say, and no more."""

from __future__ import annotations

from dataclasses import asdict, replace

from pullcall.events import Note
from pullcall.logbook.entry import row
from tests.logbook.some import BARE, ENTRY, FACTS, NOTES, WALL


def test_a_cook_with_facts_and_notes_is_one_row() -> None:
    known = row(ENTRY, NOTES, FACTS)
    assert known.place == "Riverside Park"
    assert known.tags == ("windy", "new coal")
    assert known.scores == {"taste": 8.5, "first bite": "very good"}
    assert known.handed_in == "left"
    assert known.hand_in_wall == "2026-06-13T14:01:40+00:00"
    assert known.in_window is True
    assert known.fire_c == 287.0
    left, right = known.steaks
    assert (left.weight_g, right.weight_g) == (480.0, None)
    assert (left.start_c, right.start_c) == (4.2, 4.5)
    assert (left.on_grate_s, right.on_grate_s) == (560.0, None)
    assert (left.off_c, left.peak_c, right.peak_c) == (54.1, 57.0, None)


def test_without_facts_only_header_and_notes_speak() -> None:
    known = row(BARE, (), None, is_running=True)
    assert (known.running, known.ended, known.handed_in, known.in_window) == (
        True,
        None,
        None,
        None,
    )
    assert (known.place, known.notes, known.tags, known.scores) == ("", "", (), {})
    assert known.steaks[0].pull_c == 53.9
    assert known.steaks[0].on_grate_s is None


def test_the_cooks_word_on_what_was_handed_in_goes_before_the_mark() -> None:
    assert row(ENTRY, [Note(WALL, None, "handed_in", "right")], FACTS).handed_in == "right"


def test_a_box_handed_in_late_was_not_in_the_window() -> None:
    assert row(ENTRY, (), replace(FACTS, window_t=(1200.0, 1250.0))).in_window is False


def test_a_note_of_another_kind_is_passed_over() -> None:
    odd = [
        Note(WALL, None, "place", 3.0),
        Note(WALL, None, "tags", "windy"),
        Note(WALL, "left", "weight_g", "heavy"),
        Note(WALL, None, "score.taste", ("a", "b")),
    ]
    known = row(ENTRY, odd, None)
    assert (known.place, known.tags, known.scores) == ("", (), {})
    assert known.steaks[0].weight_g is None


def test_a_row_is_plain_data() -> None:
    plain = asdict(row(ENTRY, NOTES, FACTS))
    assert plain["steaks"][0]["steak"] == "left"
    assert plain["scores"] == {"taste": 8.5, "first bite": "very good"}

"""Cooks side by side."""

from __future__ import annotations

import pytest

from pullcall.events import Note
from pullcall.report.comparison import Comparison, compare
from pullcall.report.comparison_sheet import comparison_sheet
from tests.report.hand import cook, steak, with_steak

WALL = "2026-06-13T16:00:00Z"
SCORED = (
    Note(WALL, None, "place", "Riverside park"),
    Note(WALL, None, "score.taste", 8.0),
    Note(WALL, None, "score.taste", 8.5),
)


def value(compared: Comparison, label: str) -> tuple[float | str | None, ...]:
    return next(row.values for row in compared.rows if row.label == label)


def test_a_row_has_a_value_for_each_cook_in_the_unit() -> None:
    cooks = [cook("a"), with_steak(cook("b"), 1, start_c=10.0, peak_c=None)]
    compared = compare(cooks, {}, "F")
    assert compared.cooks == ("a", "b")
    assert value(compared, "right: start temperature") == (41.0, 50.0)
    assert value(compared, "right: peak") == (134.6, None)
    assert value(compare(cooks, {}, "C"), "right: start temperature") == (5.0, 10.0)
    assert value(compared, "right: thickness") == (1.26, 1.26)  # 32 mm
    assert value(compare(cooks, {}, "C"), "right: thickness") == (32.0, 32.0)
    assert all(len(row.values) == 2 for row in compared.rows)


def test_what_nobody_knows_has_no_row() -> None:
    cooks = [with_steak(cook(name), 0, peak_c=None) for name in ("a", "b")]
    assert "left: peak" not in {row.label for row in compare(cooks, {}, "F").rows}


def test_words_tell_what_differed_and_nothing_else() -> None:
    cooks = [cook("a"), with_steak(cook("b"), 1, start_c=10.0)]
    assert compare(cooks, {}, "C").words == ("Right: start temperature: A 5.0 C, B 10.0 C.",)
    assert compare([cook("a"), cook("b")], {}, "C").words == ()


def test_scores_and_places_stand_as_last_written() -> None:
    compared = compare([cook("a"), cook("b")], {"b": SCORED}, "F")
    assert value(compared, "score, taste") == (None, 8.5)
    assert value(compared, "place") == (None, "Riverside park")


def test_a_score_that_is_no_finite_number_stays_a_text() -> None:
    odd = [Note(WALL, None, "score.taste", "nan")]
    compared = compare([cook("a"), cook("b")], {"b": odd}, "F")
    assert value(compared, "score, taste") == (None, "nan")


def test_steaks_of_other_names_stand_in_one_row() -> None:
    other = cook("b", (steak("front", start_c=8.0), steak("back", 140.0)))
    compared = compare([cook("a"), other], {}, "C")
    assert value(compared, "left / front: start temperature") == (5.0, 8.0)


def test_one_cook_or_seven_are_refused() -> None:
    for count in (1, 7):
        with pytest.raises(ValueError, match="two to 6"):
            compare([cook(str(n)) for n in range(count)], {}, "F")


def test_the_sheet_has_the_table_the_words_and_the_chart() -> None:
    cooks = [cook("a"), with_steak(cook("b"), 1, start_c=10.0)]
    html = comparison_sheet(cooks, {"b": SCORED}, "F")
    assert html.count("<svg") == 2
    assert "B Riverside park, 13 June 2026" in html
    assert "Right: start temperature: A 41.0 F, B 50.0 F." in html

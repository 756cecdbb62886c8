"""Cooks are found by any words that stand in them."""

from __future__ import annotations

import pytest

from pullcall.logbook.entry import row
from pullcall.logbook.search import found
from tests.logbook.some import BARE, ENTRY, FACTS, NOTES

ROW = row(ENTRY, NOTES, FACTS)


@pytest.mark.parametrize(
    "words",
    ["", "cook-1", "2026-06", "2026-06-13", "RIVERSIDE", "cup", "windy", "coal", "comma", "left"],
)
def test_words_are_found_wherever_they_stand(words: str) -> None:
    assert found(ROW, words)


@pytest.mark.parametrize("words", ["bite", "salt", "rack", "windy 2026 river"])
def test_words_of_scores_and_steaks_are_found_and_all_together(words: str) -> None:
    assert found(ROW, words)


@pytest.mark.parametrize("words", ["cook-2", "2026-07", "windy snow", "hill"])
def test_a_word_that_is_nowhere_finds_nothing(words: str) -> None:
    assert not found(ROW, words)


def test_a_cook_without_notes_is_found_by_its_date() -> None:
    bare = row(BARE, (), None)
    assert found(bare, "2026-07")
    assert not found(bare, "river")

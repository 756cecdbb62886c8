"""Names of phones, typed by strangers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.access import names as naming
from pullcall.access.names import TakenNames, clean


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("  Android phone ", "Android phone"),
        ("two\nlines\tand\u00a0spaces", "two lines and spaces"),
        ("back\u202ewards", "backwards"),
        ("zero\u200bwidth", "zerowidth"),
        ("bell\x07", "bell"),
        ("lone \ud800 half", "lone half"),
        ("x" * 50, "x" * 40),
        ("x" * 39 + " y", "x" * 39),
    ],
)
def test_a_name_is_one_line_that_prints_as_it_reads(typed: str, shown: str) -> None:
    assert clean(typed) == shown


def test_the_second_phone_of_a_name_gets_a_number() -> None:
    assert TakenNames([]).take("Android phone") == "Android phone"
    assert TakenNames(["Android phone"]).take("Android phone") == "Android phone 2"
    taken = ["Android phone", "Android phone 2"]
    assert TakenNames(taken).take("Android phone") == "Android phone 3"


def test_a_number_fits_a_long_name_too() -> None:
    name = TakenNames(["x" * 40]).take("x" * 40)
    assert name == "x" * 38 + " 2"


def test_a_name_that_only_looks_like_anothers_gets_a_number_as_well() -> None:
    assert TakenNames(["Pit phone"]).take("PIT PHONE") == "PIT PHONE 2"
    assert TakenNames(["Pit phone"]).take("Ｐit phone") == "Ｐit phone 2"
    assert TakenNames(["Pit phone"]).take("Pit phone\u200b") == "Pit phone 2"


def test_a_phone_without_a_name_is_called_phone() -> None:
    assert TakenNames([]).take(" \u200b ") == "Phone"
    assert TakenNames(["Phone"]).take("") == "Phone 2"


@given(st.text(max_size=60), st.lists(st.text(max_size=45), max_size=5))
def test_any_text_makes_a_short_printable_name_that_is_not_taken(
    typed: str, others: list[str]
) -> None:
    taken: list[str] = []
    names = TakenNames()
    for other in [*others, typed, typed]:
        name = names.take(other)
        assert 1 <= len(name) <= 40
        assert name.isprintable() and name == name.strip()
        assert name not in taken
        taken.append(name)


def test_a_name_whose_phone_left_is_given_again() -> None:
    names = TakenNames()
    assert [names.take("Phone") for _ in range(4)] == ["Phone", "Phone 2", "Phone 3", "Phone 4"]
    names.leave("Phone 2")
    assert [names.take("Phone") for _ in range(2)] == ["Phone 2", "Phone 5"]
    names.leave("Phone")
    assert names.take("phone") == "phone"


def test_a_name_that_two_have_is_taken_until_both_left() -> None:
    """A file of before may hold it twice."""
    names = TakenNames(["Phone", "Phone"])
    names.leave("Phone")
    assert names.take("Phone") == "Phone 2"


@given(st.lists(st.tuples(st.sampled_from(["a", "A", "a 2", "b", "x" * 40]), st.booleans())))
def test_whoever_comes_and_goes_the_lowest_number_is_given_and_no_name_twice(
    steps: list[tuple[str, bool]],
) -> None:
    names, here = TakenNames(), list[str]()
    for typed, has_come in steps:
        if has_come:
            here.append(names.take(typed))
        elif here:
            names.leave(here.pop(0))
        assert len({name.casefold() for name in here}) == len(here)
    assert names.take("a") == TakenNames(here).take("a")


def test_a_crowd_of_one_name_is_numbered_without_looking_through_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    looked = 0
    look = naming._look

    def counted(name: str) -> str:
        nonlocal looked
        looked += 1
        return look(name)

    monkeypatch.setattr(naming, "_look", counted)
    taken = TakenNames()
    for _ in range(500):
        taken.take("Phone")
    assert looked <= 4 * 500

"""Names of phones, typed by strangers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.access.names import clean, unique_name


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
    assert unique_name("Android phone", []) == "Android phone"
    assert unique_name("Android phone", ["Android phone"]) == "Android phone 2"
    taken = ["Android phone", "Android phone 2"]
    assert unique_name("Android phone", taken) == "Android phone 3"


def test_a_number_fits_a_long_name_too() -> None:
    name = unique_name("x" * 40, ["x" * 40])
    assert name == "x" * 38 + " 2"


def test_a_name_that_only_looks_like_anothers_gets_a_number_as_well() -> None:
    assert unique_name("PIT PHONE", ["Pit phone"]) == "PIT PHONE 2"
    assert unique_name("Ｐit phone", ["Pit phone"]) == "Ｐit phone 2"
    assert unique_name("Pit phone\u200b", ["Pit phone"]) == "Pit phone 2"


def test_a_phone_without_a_name_is_called_phone() -> None:
    assert unique_name(" \u200b ", []) == "Phone"
    assert unique_name("", ["Phone"]) == "Phone 2"


@given(st.text(max_size=60), st.lists(st.text(max_size=45), max_size=5))
def test_any_text_makes_a_short_printable_name_that_is_not_taken(
    typed: str, others: list[str]
) -> None:
    taken: list[str] = []
    for other in [*others, typed, typed]:
        name = unique_name(other, taken)
        assert 1 <= len(name) <= 40
        assert name.isprintable() and name == name.strip()
        assert name not in taken
        taken.append(name)

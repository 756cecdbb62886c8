"""What the logbook of a running site answers."""

from __future__ import annotations

from pullcall.log.cook_file import BrokenLine
from pullcall.site.archive import named


def test_each_line_that_was_left_out_is_named_with_its_number() -> None:
    assert named([BrokenLine(7, "not JSON")]) == ("line 7: not JSON",)
    assert named([]) == ()


def test_of_a_file_of_nothing_but_broken_lines_the_first_are_named() -> None:
    words = named([BrokenLine(n, "not JSON") for n in range(1_000)])
    assert (len(words), words[-1]) == (201, "and 800 more lines")

"""What was left out, in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.core.cook import Cook
from pullcall.core.omission import Omission, Span
from pullcall.events import (
    Acknowledgement,
    CookHeader,
    FireSettings,
    Input,
    Mark,
    MarkKind,
    Reading,
    Setting,
    Spot,
    Undo,
)
from pullcall.site.left_out import all_left_out, left_out
from pullcall.site.readiness import Around, ClockSight, readiness

HEADER = CookHeader("c", "2026-06-13T13:40:00+00:00", fire=FireSettings(channel="p/3"))


def words(what: Input | Span, header: CookHeader = HEADER) -> str:
    return left_out(Omission(99.0, what, 61.0, "ValueError"), header)


@pytest.mark.parametrize(
    ("what", "begins", "ends"),
    [
        (Reading(61.0, "left", 51.0), "A reading of the left probe at ", "look at the steak"),
        (Reading(61.0, None, 51.0, "p/3"), "A reading of the grate's probe", "look at the fire"),
        (Reading(61.0, None, 51.0, "p/9"), "A reading of a probe that has", "look at the probes"),
        (Spot(61.0, None, 290.0), "The spot of the grate at ", "measure again"),
        (Mark(61.0, None, MarkKind.ON), 'The mark "on" of all at ', "enter it again"),
        (Setting(61.0, None, "window", None), "The setting window of the cook", "something else"),
        (Undo(61.0, "m"), "What was taken back at ", "look at the marks"),
        (Acknowledgement(61.0, "c1", "x"), "An answer to a call, or ", "look at the steaks"),
        (Span((Reading,), 0.0, 61.0), "Everything but marks and settings", "look at the steaks"),
        (Span((Reading, Setting), 0.0, 61.0), "Everything but marks from", "and the settings"),
        (Span((Reading, Mark), 0.0, 61.0), "Everything from", "what is on and since when"),
    ],
)
def test_it_says_what_it_was_and_what_to_do(what: Input | Span, begins: str, ends: str) -> None:
    said = words(what)
    assert said.startswith(begins)
    assert said.endswith(ends)
    assert ":41:01 could not be worked with and is left out: " in said


def test_without_a_time_of_day_it_counts_from_the_beginning() -> None:
    said = words(Reading(61.0, "left", 51.0), replace(HEADER, started="some day"))
    assert " at 61 s could not " in said


def test_several_are_sentences() -> None:
    omission = Omission(99.0, Undo(61.0, "m"), 61.0, "ValueError")
    assert all_left_out([omission] * 2, HEADER).count("look at the marks.") == 2


def test_the_readiness_list_has_the_latest_three() -> None:
    around = Around(True, ClockSight(), (), left_out=("a", "b", "c", "d"))
    checks = [check for check in readiness(Cook(HEADER), around) if "left out" in check.name]
    assert [(check.words, check.ok) for check in checks] == [
        ("b", False),
        ("c", False),
        ("d", False),
    ]

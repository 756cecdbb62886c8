"""What a cook that goes on without something takes."""

from __future__ import annotations

import pytest

from pullcall.core.omission import Omission, Span
from pullcall.errors import RefusedError
from pullcall.events import (
    Condition,
    CookHeader,
    Fault,
    Input,
    Mark,
    MarkKind,
    Reading,
    Setting,
    SteakSettings,
)
from pullcall.log.cook_entry import CookEntry
from pullcall.site.open_cook import OpenCook

ENTRY = CookEntry(
    CookHeader("c", "2026-06-13T13:40:00+00:00", (SteakSettings("left"),)), "boot", 0.0, None
)


def without(what: Input | Span) -> OpenCook:
    opened = OpenCook(ENTRY, 0.0)
    opened.omissions = (Omission(9.0, what, 5.0, "ValueError"),)
    return opened


@pytest.mark.parametrize(
    ("left_out", "again"),
    [
        (Condition(5.0, Fault.DISK, True), Condition(10.0, Fault.DISK, True)),
        (Setting(5.0, None, "window", None), Setting(10.0, None, "window", None)),
        (
            Mark(5.0, "left", MarkKind.ON, "a", 3.0),
            Mark(10.0, "left", MarkKind.ON, "b", 3.0),
        ),
    ],
)
def test_what_was_left_out_and_would_come_again_by_itself_is_refused(
    left_out: Input, again: Input
) -> None:
    with pytest.raises(RefusedError, match="give something else"):
        without(left_out).check(again)
    OpenCook(ENTRY, 0.0).check(again)


@pytest.mark.parametrize(
    ("left_out", "another"),
    [
        (Condition(5.0, Fault.DISK, True), Condition(10.0, Fault.CLOCK, True)),
        (Setting(5.0, "left", "pull_c", 52.0), Setting(10.0, "left", "pull_c", 53.0)),
        (Mark(5.0, "left", MarkKind.ON, "a"), Mark(10.0, "left", MarkKind.ON, "b")),
        (Span((Setting,), 0.0, 5.0), Setting(10.0, "left", "pull_c", 53.0)),
        (Reading(5.0, "left", 51.0), Reading(10.0, "left", 51.0)),
    ],
)
def test_what_says_something_else_or_is_done_anew_is_taken(
    left_out: Input | Span, another: Input
) -> None:
    without(left_out).check(another)

"""The records of what is left out of a cook."""

from __future__ import annotations

import json

import pytest

from pullcall.core.omission import Omission, Span
from pullcall.events import CookHeader, Mark, MarkKind, Note, Reading, Setting, Spot
from pullcall.log.cook_file import CookFile, cook_lines, parse_cook_lines
from pullcall.log.note_records import note_record
from pullcall.log.omissions import omission_record, parse_omission
from pullcall.log.records import to_line

HEADER = CookHeader("c", "2026-06-13T13:40:00+00:00")
ON = Mark(0.5, None, MarkKind.ON, "on")
BAD = Reading(3.0, "left", 51.2, "p/1")
INPUTS = (ON, Reading(1.0, "left", 50.0, "p/1"), BAD, Reading(4.0, "left", 51.0, "p/1"))


def omitted(what: Reading | Spot | Mark | Setting | Span) -> Omission:
    return Omission(7.5, what, 3.25, "ZeroDivisionError")


def read(*omissions: Omission, more: tuple[str, ...] = ()) -> CookFile:
    records = (to_line(omission_record(omission)) for omission in omissions)
    return parse_cook_lines([*cook_lines(HEADER, INPUTS), *records, *more])


@pytest.mark.parametrize(
    "what",
    [
        BAD,
        Spot(3.0, None, 280.0),
        Mark(3.0, "left", MarkKind.TURN, "m", 1.5),
        Setting(3.0, None, "window", None),
        Span((Reading, Spot), -4.5, 3.0),
    ],
)
def test_an_omission_comes_back_as_it_was_written(
    what: Reading | Spot | Mark | Setting | Span,
) -> None:
    record = json.loads(to_line(omission_record(omitted(what))))
    assert parse_omission(record) == omitted(what)


def test_the_record_stays_and_its_input_with_it_but_it_is_no_input_any_more() -> None:
    cook = read(omitted(BAD))
    assert cook.inputs == (*INPUTS[:2], INPUTS[3])
    assert cook.omissions == (omitted(BAD),)
    assert len(cook.records) == len(INPUTS) + 1
    assert cook.ends_t == 7.5


def test_a_cook_without_omissions_is_read_as_ever() -> None:
    note = Note("2026-06-13T15:00:00+00:00", None, "place", "by the river")
    cook = read(more=(to_line(note_record(note)),))
    assert (cook.inputs, cook.omissions, cook.notes) == (INPUTS, (), (note,))


def test_a_kind_that_this_version_does_not_know_leaves_nothing_out() -> None:
    later = '{"record":"omission","t":5,"failed_t":3,"why":"E","span":[0,9],"kinds":["smoke"]}'
    cook = read(more=(later, later.replace('"span":[0,9],"kinds":["smoke"]', '"input":{}')))
    assert (cook.inputs, cook.broken, len(cook.records)) == (INPUTS, (), len(INPUTS) + 2)


@pytest.mark.parametrize(
    "rest",
    [
        '"input":7',
        '"input":{"record":"reading","t":1,"steak":"left"}',
        '"span":[1],"kinds":["reading"]',
        '"span":[1,"x"],"kinds":["reading"]',
        '"span":[1,2]',
        "",
    ],
)
def test_a_broken_one_is_named_and_leaves_nothing_out(rest: str) -> None:
    line = f'{{"record":"omission","t":5,"failed_t":3,"why":"E"{"," if rest else ""}{rest}}}'
    cook = read(more=(line,))
    assert [broken.number for broken in cook.broken] == [len(INPUTS) + 2]
    assert cook.inputs == INPUTS

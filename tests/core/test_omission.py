"""What is left of a cook's inputs."""

from __future__ import annotations

from pullcall.core.omission import Omission, Span, without
from pullcall.events import Input, Mark, MarkKind, Reading, Spot

READINGS = tuple(Reading(float(t), "left", 40.0 + t, "p/1") for t in range(10))
ON = Mark(2.0, None, MarkKind.ON, "on")


def omitted(what: Input | Span) -> Omission:
    return Omission(20.0, what, 19.0, "ValueError")


def test_without_omissions_everything_is_left() -> None:
    assert without(READINGS, ()) == READINGS


def test_one_input_goes_and_the_others_keep_their_order() -> None:
    left = without(READINGS, [omitted(Reading(4.0, "left", 44.0, "p/1"))])
    assert left == READINGS[:4] + READINGS[5:]


def test_of_equals_the_last_goes_and_all_if_each_is_named() -> None:
    twice = (READINGS[0], ON, READINGS[0])
    assert without(twice, [omitted(READINGS[0])]) == (READINGS[0], ON)
    assert without(twice, [omitted(READINGS[0])] * 2) == (ON,)
    assert without(twice, [omitted(READINGS[0])] * 3) == (ON,)


def test_what_is_not_there_takes_nothing_with_it() -> None:
    assert without(READINGS, [omitted(Spot(4.0, "left", 44.0))]) == READINGS


def test_a_span_takes_its_kinds_with_both_ends_and_nothing_else() -> None:
    inputs: tuple[Input, ...] = (*READINGS[:3], ON, *READINGS[3:])
    assert without(inputs, [omitted(Span((Reading,), 2.0, 8.0))]) == (
        *READINGS[:2],
        ON,
        READINGS[9],
    )


def test_spans_that_overlap_or_lie_apart_hold_what_each_of_them_does() -> None:
    spans = [Span((Reading,), 5.0, 6.0), Span((Reading,), 0.0, 2.0), Span((Reading,), 1.0, 3.0)]
    left = without(READINGS, [omitted(span) for span in spans])
    assert [event.t for event in left] == [4.0, 7.0, 8.0, 9.0]

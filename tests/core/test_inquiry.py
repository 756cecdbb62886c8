"""Which inputs are left out where the core fails, and that it ends."""

from __future__ import annotations

import pytest

from pullcall.core.failure import begin, run, take
from pullcall.core.inquiry import gone_through
from pullcall.core.omission import Omission, Span, without
from pullcall.errors import UnworkableError
from pullcall.events import CookHeader, Input, Mark, MarkKind, Reading, Setting, Spot, SteakSettings
from tests.poison import (
    POISON_C,
    fail_after,
    fail_at,
    fail_at_each_after,
    fail_when,
    is_poisoned,
)

HEADER = CookHeader(
    "c", "2026-06-13T13:40:00+00:00", (SteakSettings("left", channel="p/1"), SteakSettings("right"))
)
ON = Mark(0.5, None, MarkKind.ON, "on")


def cook(until: int, *poison: float, more: tuple[Input, ...] = ()) -> tuple[Input, ...]:
    """A reading each second, those at ``poison`` of just the temperature that may be poison."""
    readings = (
        Reading(float(t), "left", POISON_C if t in poison else 40.0 + 0.05 * t, "p/1")
        for t in range(1, until)
    )
    return tuple(sorted((ON, *readings, *more), key=lambda event: event.t))


class Passes:
    """Goes through a cook and counts how often."""

    def __init__(self, inputs: tuple[Input, ...]) -> None:
        self.inputs = inputs
        self.until = inputs[-1].t + 2.0
        self.count = 0
        self.left: tuple[Input, ...] = ()

    def out(self, known: tuple[Omission, ...] = ()) -> list[Input | Span]:
        """What is left out so that it is gone through."""
        left = without(self.inputs, known)
        _, found = gone_through(HEADER, left, lambda: self.until, known, self._once)
        assert self.left == without(left, found)
        return [omission.what for omission in found]

    def _once(self, inputs: tuple[Input, ...]) -> None:
        self.count += 1
        self.left = inputs
        core = begin(HEADER)
        for event in inputs:
            take(core, event)
        run(core, self.until)


def test_a_sound_cook_is_gone_through_once() -> None:
    passes = Passes(cook(40))
    assert passes.out() == []
    assert passes.count == 1


def test_the_input_at_which_it_fails_goes_and_it_is_gone_through_once_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fail_at(monkeypatch, is_poisoned)
    passes = Passes(cook(40, 20))
    assert passes.out() == [Reading(20.0, "left", POISON_C, "p/1")]
    assert passes.count == 2


def test_every_one_in_a_row_goes_and_what_lies_between_stays(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fail_at(monkeypatch, is_poisoned)
    assert [getattr(one, "t", None) for one in Passes(cook(40, 20, 21, 23)).out()] == [20, 21, 23]


def test_an_input_after_which_every_other_fails_is_found_at_the_second(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fail_at_each_after(monkeypatch, is_poisoned)
    found = Passes(cook(40, 20)).out()
    assert [getattr(one, "t", None) for one in found] == [21, 20]


@pytest.mark.parametrize("after_s", [0.5, 3.0])
def test_of_a_second_that_fails_one_of_the_last_inputs_is_to_blame(
    monkeypatch: pytest.MonkeyPatch, after_s: float
) -> None:
    fail_after(monkeypatch, is_poisoned, after_s)
    assert Passes(cook(40, 20)).out() == [Reading(20.0, "left", POISON_C, "p/1")]


def test_two_seconds_that_fail_soon_after_one_another_have_two_to_blame(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The second comes when the first was left out already, as at a live site."""
    fail_after(monkeypatch, is_poisoned, after_s=0.5)
    (first,) = Passes(cook(30, 20)).out()
    known = (Omission(25.0, first, 21.0, "PoisonedError"),)
    (second,) = Passes(cook(60, 20, 35)).out(known)
    assert [getattr(one, "t", None) for one in (first, second)] == [20, 35]


def test_what_people_gave_long_before_is_suspected_before_whole_parts(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fail_after(monkeypatch, lambda event: isinstance(event, Spot), after_s=25.0)
    spot, setting = Spot(20.5, "left", 44.0, "s"), Setting(30.5, "left", "pull_c", 52.0)
    assert Passes(cook(60, more=(spot, setting))).out() == [spot]


def test_readings_that_only_together_are_to_blame_go_with_those_around_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fail_after(monkeypatch, is_poisoned, after_s=8.0)
    (span,) = Passes(cook(60, 40, 41)).out()
    assert isinstance(span, Span)
    assert Mark not in span.kinds
    assert Setting not in span.kinds
    assert (span.since, span.until) == (39.0, 49.0)


def test_in_the_end_everything_goes_but_for_marks_and_settings(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("pullcall.core.inquiry._PARTS_S", (1.0,))
    fail_after(monkeypatch, is_poisoned, after_s=20.0)
    (span,) = Passes(cook(60, 10, 11)).out()
    assert isinstance(span, Span)
    assert (span.since, span.until, Mark in span.kinds) == (0.5, 31.0, False)


def test_a_second_at_which_it_always_fails_is_hopeless_and_said_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fail_when(monkeypatch, lambda now: now == 20.0)
    with pytest.raises(UnworkableError, match=r"fail at 20 s of it \(PoisonedError\)"):
        Passes(cook(40)).out()


def test_a_header_that_no_core_can_bear_is_hopeless(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pullcall.core.cook.Surroundings", None)
    with pytest.raises(UnworkableError):
        Passes(cook(10)).out()


def test_failures_that_never_end_are_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    fail_at(monkeypatch, lambda event: isinstance(event, Reading))
    passes = Passes(cook(200))
    with pytest.raises(UnworkableError):
        passes.out()
    assert passes.count < 20


def test_what_follows_the_last_of_many_failures_goes_with_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of a few more that were logged at once not each costs a start."""
    fail_at(monkeypatch, lambda event: isinstance(event, Reading))
    passes = Passes(cook(16))
    *singly, span = passes.out()
    assert len(singly) == 12
    assert span == Span(span.kinds, 0.5, 15.0) if isinstance(span, Span) else False
    assert passes.left == (ON,)


@pytest.mark.parametrize("gap", [30.0, 400.0])
def test_a_failure_long_after_another_is_a_new_trouble(
    monkeypatch: pytest.MonkeyPatch, gap: float
) -> None:
    """In a new one the input itself is blamed; in the same one what came before is looked at."""
    fail_at_each_after(monkeypatch, is_poisoned)
    first = Reading(20.0, "left", 41.0, "p/1")
    known = (Omission(21.0, first, 20.0, "PoisonedError"),)
    end = int(20 + gap)
    found = Passes(cook(end + 1, end - 1)).out(known)
    assert getattr(found[0], "t", None) == (end if gap > 60.0 else end - 1)

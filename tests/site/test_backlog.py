"""What waits for the log is bounded: readings thin out, people's inputs and calls never go."""

from __future__ import annotations

import pytest

from pullcall.events import Mark, MarkKind, Reading
from pullcall.log.entries import Entry
from pullcall.site import backlog
from pullcall.site.backlog import Backlog, Kept


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(backlog, "THINNED_FROM", 10)
    monkeypatch.setattr(backlog, "MOST", 20)


def reading(t: float, channel: str = "p/1", cook: str = "c") -> Entry:
    return Entry(cook, Reading(t, None, 5.0, channel))


def mark(t: float) -> Entry:
    return Entry("c", Mark(t, None, MarkKind.BASTE, f"m{t:g}"))


def test_many_readings_thin_out_to_one_of_each_channel_in_five_seconds() -> None:
    waiting = Backlog()
    waiting.add(reading(float(t)) for t in range(10))
    assert (len(waiting), waiting.dropped) == (10, 0)
    waiting.add(reading(10.0 + t, channel) for t in range(11) for channel in ("p/1", "p/2"))
    assert [e.what.t for e in waiting.since(10)] == [10.0, 10.0, 15.0, 15.0, 20.0, 20.0]  # type: ignore[union-attr]
    assert waiting.dropped == 16


def test_the_next_cook_has_readings_of_its_own_kept_though_it_begins_at_zero() -> None:
    waiting = Backlog()
    waiting.add(reading(3600.0 + t) for t in range(11))
    waiting.add(reading(float(t), cook="next") for t in range(6))
    assert [e.what.t for e in waiting.since(11)] == [0.0, 5.0]  # type: ignore[union-attr]


def test_too_many_readings_are_not_kept_at_all_and_marks_are() -> None:
    waiting = Backlog()
    waiting.add(mark(float(t)) for t in range(25))
    waiting.add([reading(30.0), mark(31.0)])
    assert len(waiting) == 26
    assert waiting.dropped == 1


def test_what_is_kept_follows_how_many_wait_and_what_was_left_out_is_never_forgotten() -> None:
    waiting = Backlog()
    seen = []
    for t in range(21):
        seen.append(waiting.kept)
        waiting.add([mark(float(t))])
    assert seen == [Kept.ALL] * 10 + [Kept.FEW] * 10 + [Kept.NONE]
    waiting.add([reading(30.0)])
    waiting.settle(len(waiting))
    assert (waiting.kept, waiting.dropped) == (Kept.ALL, 1)


def test_what_is_in_the_log_waits_no_more_and_the_numbers_go_on() -> None:
    waiting = Backlog()
    waiting.add(mark(float(t)) for t in range(4))
    waiting.settle(3)
    assert waiting.base == 3
    assert waiting.since(3) == waiting.first() == [mark(3.0)]
    assert waiting.since(4) == []
    waiting.settle(1)
    assert not waiting

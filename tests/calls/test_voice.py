"""One voice at a time: urgent first and joined, everything else in turn."""

from __future__ import annotations

from pullcall.calls.voice import Voice
from pullcall.calls.wish import Wish
from pullcall.events import CallKind


def wish(priority: int, since: float = 0.0, name: str = "x", can_wait: bool = False) -> Wish:
    return Wish(
        CallKind.TURN, (name,), None, priority, name, since, lambda i, t: None, can_wait=can_wait
    )


def names(burst: list[Wish]) -> list[str]:
    return [one.words for one in burst]


def test_lesser_calls_come_one_by_one_four_seconds_apart() -> None:
    voice = Voice()
    both = [wish(2, 1.0, "later"), wish(2, 0.0, "first")]
    assert names(voice.choose(both, 1.0)) == ["first"]
    assert voice.choose(both[:1], 4.0) == []
    assert names(voice.choose(both[:1], 5.0)) == ["later"]


def test_what_is_more_urgent_goes_before_what_waited_longer() -> None:
    assert names(Voice().choose([wish(3, 0.0, "old"), wish(2, 9.0, "new")], 9.0)) == ["new"]


def test_urgent_ones_join_in_one_burst_and_one_lesser_rides_along() -> None:
    burst = Voice().choose(
        [wish(2, 0.0, "turn"), wish(1, 2.0, "b"), wish(1, 1.0, "a"), wish(3, 0.0, "rest")], 2.0
    )
    assert names(burst) == ["a", "b", "turn"]


def test_an_urgent_one_cuts_in_on_a_lesser_at_once_but_waits_for_an_urgent() -> None:
    voice = Voice()
    voice.choose([wish(2)], 10.0)
    assert voice.choose([wish(1, 11.0, "a")], 11.0)
    assert voice.choose([wish(1, 12.0, "b")], 12.0) == []
    assert names(voice.choose([wish(1, 12.0, "b")], 13.0)) == ["b"]


def test_one_whose_turn_comes_in_a_moment_only_joins() -> None:
    voice = Voice()
    soon = wish(1, 0.0, "soon", can_wait=True)
    assert voice.choose([soon], 1.0) == []
    assert names(voice.choose([soon, wish(1, 2.0, "now")], 2.0)) == ["soon", "now"]

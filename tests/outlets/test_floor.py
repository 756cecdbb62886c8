"""One voice at a time: decided without a sound."""

from __future__ import annotations

import pytest

from pullcall.outlets.floor import STALE_S, Floor
from tests.outlets.ears import call


@pytest.mark.parametrize(
    "sounding, coming, yields", [(3, 1, True), (3, 2, True), (2, 1, True), (1, 1, False)]
)
def test_only_a_more_urgent_burst_cuts_in(sounding: int, coming: int, yields: bool) -> None:
    floor = Floor()
    floor.begin((call("c1", priority=sounding),))
    floor.add((call("c2", priority=coming),), 0.0)
    assert floor.must_yield is yields


def test_an_equal_cuts_in_once_the_words_of_the_most_urgent_calls_are_said() -> None:
    floor = Floor()
    floor.begin((call("c1"), call("c2", priority=2)))
    floor.add((call("c3"),), 0.0)
    before = floor.must_yield
    floor.said_urgent_words()
    assert (before, floor.must_yield) == (False, True)


def test_a_lesser_burst_waits_for_all_the_words() -> None:
    floor = Floor()
    floor.begin((call("c1"), call("c2", priority=2)))
    floor.said_urgent_words()
    floor.add((call("c3", priority=2),), 0.0)
    assert not floor.must_yield


def test_an_insistent_alarm_yields_to_any_next_burst_once_its_words_are_said() -> None:
    floor = Floor()
    floor.begin((call("c1", insistent=True),))
    floor.add((call("c2", priority=3),), 0.0)
    before = floor.must_yield
    floor.said_words()
    assert (before, floor.must_yield) == (False, True)


def test_an_insistent_alarm_goes_on_until_it_is_silenced() -> None:
    floor = Floor()
    floor.begin((call("c1", insistent=True), call("c2", priority=2)))
    floor.said_words()
    assert (floor.insists, floor.must_yield) == (True, False)
    floor.silence("c2")
    assert (floor.insists, floor.must_yield) == (True, False)
    floor.silence("c1")
    assert (floor.insists, floor.must_yield) == (False, True)


def test_the_most_urgent_waiting_burst_is_next_and_among_equals_the_oldest() -> None:
    floor = Floor()
    bursts = [(call(id, priority=p),) for id, p in (("a", 3), ("b", 2), ("c", 1), ("d", 1))]
    for moment, burst in enumerate(bursts):
        floor.add(burst, float(moment))
    order = []
    while (taken := floor.take(4.0)[0]) is not None:
        order.append(taken[0].id)
    assert order == ["c", "d", "b", "a"]


def test_a_burst_that_waited_too_long_is_given_back_unsounded() -> None:
    floor = Floor()
    old, fresh = (call("old"),), (call("fresh"),)
    floor.add(old, 0.0)
    floor.add(fresh, 1.0)
    assert floor.take(STALE_S + 0.5) == (fresh, (old,))


def test_a_full_queue_drops_the_oldest_of_the_least_urgent() -> None:
    floor = Floor()
    floor.add((call("low"),), 0.0)
    floor.add((call("p3 old", priority=3),), 1.0)
    floor.add((call("p3 new", priority=3),), 2.0)
    for number in range(5):
        assert floor.add((call(f"p1 {number}"),), 3.0) == ()
    [dropped] = floor.add((call("one more"),), 4.0)
    assert [c.id for c in dropped] == ["p3 old"]


def test_an_answered_call_no_longer_waits() -> None:
    floor = Floor()
    floor.add((call("c1"), call("c2")), 0.0)
    floor.add((call("c3"),), 0.0)
    floor.silence("c1")
    floor.silence("c3")
    burst, _ = floor.take(1.0)
    assert burst is not None
    assert [c.id for c in burst] == ["c2"]
    assert floor.take(1.0) == (None, ())


def test_a_call_announced_again_while_it_waits_is_sounded_once() -> None:
    floor = Floor()
    first, again = (call("c1", t=1.0),), (call("c1", t=6.0),)
    floor.add(first, 0.0)
    assert floor.add(again, 1.0) == (first,)
    assert floor.add(again, 2.0) == ()
    assert floor.take(3.0) == (again, ())
    assert floor.take(3.0) == (None, ())

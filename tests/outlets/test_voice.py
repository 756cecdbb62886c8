"""One voice at a time, decided without a sound."""

from __future__ import annotations

import pytest

from pullcall.outlets.voice import STALE_S, Voice
from tests.outlets.ears import call


@pytest.mark.parametrize(
    "sounding, coming, yields", [(3, 1, True), (3, 2, True), (2, 1, True), (1, 1, False)]
)
def test_only_a_more_urgent_burst_cuts_in(sounding: int, coming: int, yields: bool) -> None:
    voice = Voice()
    voice.begin((call("c1", priority=sounding),))
    voice.add((call("c2", priority=coming),), 0.0)
    assert voice.must_yield is yields


def test_an_insistent_alarm_yields_to_any_next_burst_once_its_words_are_said() -> None:
    voice = Voice()
    voice.begin((call("c1", insistent=True),))
    voice.add((call("c2", priority=3),), 0.0)
    before = voice.must_yield
    voice.said_words()
    assert (before, voice.must_yield) == (False, True)


def test_an_insistent_alarm_goes_on_until_it_is_silenced() -> None:
    voice = Voice()
    voice.begin((call("c1", insistent=True), call("c2", priority=2)))
    voice.said_words()
    assert (voice.insists, voice.must_yield) == (True, False)
    voice.silence("c2")
    assert (voice.insists, voice.must_yield) == (True, False)
    voice.silence("c1")
    assert (voice.insists, voice.must_yield) == (False, True)


def test_the_most_urgent_waiting_burst_is_next_and_among_equals_the_oldest() -> None:
    voice = Voice()
    bursts = [(call(id, priority=p),) for id, p in (("a", 3), ("b", 2), ("c", 1), ("d", 1))]
    for moment, burst in enumerate(bursts):
        voice.add(burst, float(moment))
    order = []
    while (taken := voice.take(4.0)[0]) is not None:
        order.append(taken[0].id)
    assert order == ["c", "d", "b", "a"]


def test_a_burst_that_waited_too_long_is_given_back_unsounded() -> None:
    voice = Voice()
    old, fresh = (call("old"),), (call("fresh"),)
    voice.add(old, 0.0)
    voice.add(fresh, 1.0)
    assert voice.take(STALE_S + 0.5) == (fresh, (old,))


def test_a_full_queue_drops_the_oldest_of_the_least_urgent() -> None:
    voice = Voice()
    voice.add((call("low"),), 0.0)
    voice.add((call("p3 old", priority=3),), 1.0)
    voice.add((call("p3 new", priority=3),), 2.0)
    for number in range(5):
        assert voice.add((call(f"p1 {number}"),), 3.0) == ()
    [dropped] = voice.add((call("one more"),), 4.0)
    assert [c.id for c in dropped] == ["p3 old"]


def test_an_answered_call_no_longer_waits() -> None:
    voice = Voice()
    voice.add((call("c1"), call("c2")), 0.0)
    voice.add((call("c3"),), 0.0)
    voice.silence("c1")
    voice.silence("c3")
    burst, _ = voice.take(1.0)
    assert burst is not None
    assert [c.id for c in burst] == ["c2"]
    assert voice.take(1.0) == (None, ())


def test_a_call_announced_again_while_it_waits_is_sounded_once() -> None:
    voice = Voice()
    first, again = (call("c1", t=1.0),), (call("c1", t=6.0),)
    voice.add(first, 0.0)
    assert voice.add(again, 1.0) == (first,)
    assert voice.add(again, 2.0) == ()
    assert voice.take(3.0) == (again, ())
    assert voice.take(3.0) == (None, ())

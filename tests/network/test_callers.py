"""Connections by address: nobody takes all places, whoever takes most gives way."""

from __future__ import annotations

from pullcall.network.callers import Callers


def test_an_address_past_its_own_bound_is_turned_away() -> None:
    callers: Callers[str] = Callers(most=10, most_of_one=2)
    assert [callers.come("a", one) for one in ("a1", "a2", "a3")] == [None, None, "a3"]
    assert callers.of("a") == ("a1", "a2")


def test_a_place_that_was_left_is_free_again() -> None:
    callers: Callers[str] = Callers(most=10, most_of_one=1)
    callers.come("a", "a1")
    callers.leave("a", "a1")
    assert len(callers) == 0
    assert callers.come("a", "a2") is None


def test_leaving_twice_or_without_having_come_changes_nothing() -> None:
    callers: Callers[str] = Callers(most=10, most_of_one=2)
    callers.come("a", "a1")
    callers.leave("a", "a2")
    callers.leave("b", "b1")
    assert len(callers) == 1
    callers.leave("a", "a1")
    callers.leave("a", "a1")
    assert len(callers) == 0


def test_past_all_places_the_oldest_of_the_fullest_address_gives_way() -> None:
    callers: Callers[str] = Callers(most=4, most_of_one=4)
    for one in ("a1", "b1", "b2", "b3"):
        assert callers.come(one[0], one) is None
    assert callers.come("c", "c1") == "b1"
    assert len(callers) == 4
    assert callers.come("d", "d1") == "b2"
    assert callers.of("a") == ("a1",)


def test_who_says_something_keeps_its_place_among_a_crowd_of_silent_ones() -> None:
    callers: Callers[str] = Callers(most=4, most_of_one=2)
    for one in ("cook", "r1", "r2", "r3"):
        callers.come(one, one)
    gone = []
    for k in range(4, 40):
        callers.hear("cook", "cook")
        gone.append(callers.come(f"r{k}", f"r{k}"))
    assert gone == [f"r{k}" for k in range(1, 37)]


def test_a_crowd_of_silent_ones_keeps_nobody_out() -> None:
    callers: Callers[str] = Callers(most=4, most_of_one=2)
    for k in range(100):
        callers.come(f"r{k}", f"r{k}")
    assert callers.come("cook", "cook") != "cook"
    assert callers.of("cook") == ("cook",)


def test_of_one_address_the_connection_that_was_silent_longest_goes() -> None:
    callers: Callers[str] = Callers(most=3, most_of_one=3)
    for one in ("a1", "a2", "a3"):
        callers.come("a", one)
    callers.hear("a", "a1")
    assert callers.come("b", "b1") == "a2"


def test_hearing_one_that_is_not_here_changes_nothing() -> None:
    callers: Callers[str] = Callers(most=3, most_of_one=3)
    callers.hear("a", "a1")
    assert len(callers) == 0
    assert callers.of("a") == ()


def test_however_many_addresses_a_crowd_has_its_places_are_bounded() -> None:
    callers: Callers[str] = Callers(most=50, most_of_one=8)
    for k in range(1000):
        callers.come(f"10.0.{k // 100}.{k % 100}", f"c{k}")
        assert len(callers) <= 50


def test_this_machine_itself_is_not_counted() -> None:
    callers: Callers[str] = Callers(most=1, most_of_one=1)
    assert [callers.come("127.0.0.1", f"own{k}") for k in range(5)] == [None] * 5
    assert len(callers) == 0

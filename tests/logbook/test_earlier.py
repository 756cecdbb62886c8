"""A cook is held against those before it, of its kind."""

from __future__ import annotations

from pullcall.events import CookHeader
from pullcall.log.cook_entry import CookEntry
from pullcall.logbook.earlier import MOST, earlier


def logged(cook: str, *, simulated: bool = False, ended: str | None = "then") -> CookEntry:
    return CookEntry(CookHeader(cook, "", simulated=simulated), "boot", 0.0, ended)


def test_only_cooks_of_the_same_kind_that_are_over_and_came_before_count() -> None:
    log = [
        logged("real-1"),
        logged("played-1", simulated=True),
        logged("real-2"),
        logged("left-open", ended=None),
        logged("this"),
        logged("real-3"),
    ]
    assert earlier(log, "this", simulated=False) == ["real-1", "real-2"]
    assert earlier(log, "this", simulated=True) == ["played-1"]


def test_a_cook_of_a_file_is_held_against_all_and_only_the_latest_count() -> None:
    log = [logged(f"cook-{n}") for n in range(MOST + 3)]
    assert earlier(log, "elsewhere", simulated=False) == [f"cook-{n}" for n in range(3, MOST + 3)]

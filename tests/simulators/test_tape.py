"""A cook as the messages that its pages would get."""

from __future__ import annotations

from tests.tapes import first_minutes

TAPE = first_minutes


def test_it_begins_with_a_snapshot_and_has_another_each_minute() -> None:
    assert [round(whole.t) for whole in TAPE().whole] == [0, 60, 120, 180, 240, 300]
    assert TAPE().whole_at(119.0) is TAPE().whole[1]
    assert TAPE().whole_at(-5.0) is TAPE().whole[0]


def test_what_was_said_comes_in_order_and_ends_with_the_cook() -> None:
    times = [said.t for said in TAPE().said]
    assert times == sorted(times)
    assert times[-1] <= TAPE().ends_t


def test_a_snapshot_stays_as_it_was_when_it_was_taken() -> None:
    first, last = TAPE().whole[0].message, TAPE().whole[-1].message
    assert [steak["phase"] for steak in first["steaks"]] == ["waiting", "waiting"]
    assert [steak["phase"] for steak in last["steaks"]] == ["on", "on"]
    assert first["calls"] == [] and last["calls"] != []
    assert first["steaks"][0]["curve"] == []


def test_a_page_that_begins_later_hears_only_what_came_after() -> None:
    assert min(said.t for said in TAPE().after(100.0)) > 100.0


def test_the_morning_was_done_and_the_steaks_were_turned() -> None:
    marks = [said.message["mark"] for said in TAPE().said if said.message["type"] == "mark"]
    assert marks[:4] == ["seasoned", "lit", "poured", "fetched"]
    assert marks.count("on") == 2 and marks.count("turn") == 2

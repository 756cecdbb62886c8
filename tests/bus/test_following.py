"""Which records come next, and which are late."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from pullcall.bus.cook_clock import CookClock
from pullcall.bus.following import NOTHING, Following

WALL = datetime(2026, 6, 13, 14, 0, tzinfo=UTC)


def following(**positions: int) -> Following:
    one = Following("north", positions)
    one.runs("today", CookClock(t=100.0, at=0.0))
    return one


def is_late(line: str, now: float = 0.0, cook: str = "today") -> bool:
    user = dict(following().publication(cook, 7, line, now, WALL).user)
    assert (user.pop("epoch"), user.pop("seq")) == (cook, "7")
    return user == {"late": "1"}


def test_a_record_goes_as_it_was_logged() -> None:
    line = '{"record":"mark","t":99.0,"unknown":[1]}'
    sent = following().publication("today", 3, line, 0.0, WALL)
    assert (sent.topic, sent.payload) == ("pullcall/1/north/record", line.encode())
    assert (sent.qos, sent.retained, sent.expires_s) == (1, False, 86400)


@pytest.mark.parametrize(("t", "now", "late"), [(95.0, 0.0, False), (95.0, 5.1, True)])
def test_a_record_of_more_than_ten_seconds_ago_is_late(t: float, now: float, late: bool) -> None:
    assert is_late(f'{{"record":"mark","t":{t}}}', now) is late


def test_a_header_is_as_old_as_its_cook() -> None:
    assert is_late('{"record":"cook"}')


def test_a_note_is_as_old_as_it_says() -> None:
    assert not is_late('{"record":"note","wall":"2026-06-13T15:59:51+02:00"}')
    assert is_late('{"record":"note","wall":"2026-06-13T15:59:49+02:00"}')


@pytest.mark.parametrize("line", ["", "[]", "{", '{"t":null,"wall":3}', '{"wall":"noon"}'])
def test_a_record_that_tells_nothing_of_its_time_is_late(line: str) -> None:
    assert is_late(line, now=60.0)


def test_what_is_sent_of_a_cook_before_is_late() -> None:
    assert is_late('{"record":"mark","t":99.0}', cook="yesterday")


def test_in_a_cook_that_runs_faster_than_life_ten_seconds_are_real_ones() -> None:
    one = following()
    one.runs("today", CookClock(t=100.0, at=0.0, speed=6.0))
    sent = one.publication("today", 3, '{"record":"mark","t":50.0}', 0.0, WALL)
    assert "late" not in dict(sent.user)


def test_the_cook_that_runs_goes_first_and_is_never_done_with() -> None:
    one = following(earlier=12, today=4)
    assert one.cooks() == ("today", "earlier")
    one.caught_up("today")
    one.caught_up("earlier")
    assert one.positions == {"today": 4}
    one.runs("next", CookClock(0.0, 0.0))
    assert one.positions == {"today": 4, "next": NOTHING}
    one.confirmed("today", 9)
    one.caught_up("today")
    assert one.cooks() == ("next",)


def test_a_time_beyond_all_numbers_does_not_stop_the_records_behind_it() -> None:
    """What was imported is sent as it stands; such a line counts as the first of its cook."""
    assert is_late(f'{{"record":"later","t":{"9" * 400}}}') is True

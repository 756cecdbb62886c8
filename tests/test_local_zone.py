"""Times of the machine's own zone have the offset of their own day."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from pullcall.local_zone import LocalZone, local
from pullcall.plan.wall import parse_window

ZONE = "Europe/Berlin"
#: The evenings before clocks there are changed: 29 March and 25 October 2026, 01:00 UTC (the last
#: Sundays of the months, directive 2000/84/EC).
EVENINGS = (datetime(2026, 3, 28, 20, tzinfo=UTC), datetime(2026, 10, 24, 20, tzinfo=UTC))
MINUTES = range(0, 15 * 60, 7)


@pytest.fixture
def in_berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", ZONE)
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("in_berlin")
@pytest.mark.parametrize("evening", EVENINGS)
def test_it_tells_what_the_zone_s_own_rules_tell_through_the_night_of_a_change(
    evening: datetime,
) -> None:
    rules = ZoneInfo(ZONE)
    for minutes in MINUTES:
        moment = evening + timedelta(minutes=minutes)
        assert local(moment).isoformat() == moment.astimezone(rules).isoformat()
        hands = moment.replace(tzinfo=None)
        here, there = hands.replace(tzinfo=LocalZone()), hands.replace(tzinfo=rules)
        assert here.isoformat() == there.isoformat()


@pytest.mark.usefixtures("in_berlin")
@pytest.mark.parametrize(
    ("evening", "opens"), [(EVENINGS[0], "2026-03-29T12:00"), (EVENINGS[1], "2026-10-25T13:00")]
)
def test_tomorrow_s_window_is_at_its_hours_by_tomorrow_s_clock(
    evening: datetime, opens: str
) -> None:
    window = parse_window("14:00-14:30", local(evening))
    assert datetime.fromisoformat(window.opens).astimezone(UTC).isoformat().startswith(opens)


@pytest.mark.usefixtures("in_berlin")
def test_a_window_that_a_night_does_not_have_is_the_next_night_s() -> None:
    window = parse_window("02:30-03:10", local(EVENINGS[0]))
    assert window.opens == "2026-03-30T02:30:00+02:00"


@pytest.mark.usefixtures("in_berlin")
def test_a_window_in_the_hour_that_comes_twice_is_over_when_it_is_over() -> None:
    second = datetime(2026, 10, 25, 1, 5, tzinfo=UTC)  # 02:05, for the second time
    assert parse_window("02:00-02:20", local(second)).opens == "2026-10-26T02:00:00+01:00"

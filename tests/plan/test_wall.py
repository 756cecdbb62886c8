"""Windows are read as people write them, and mean the next one on the clock on the wall."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from pullcall.events import Window
from pullcall.plan.wall import parse_clock, parse_window, window_span

ZONE = timezone(timedelta(hours=-5))


def at(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 6, day, hour, minute, tzinfo=ZONE)


@pytest.mark.parametrize(
    ("text", "now", "opens", "closes"),
    [
        ("14:00-14:30", at(13, 9), at(13, 14), at(13, 14, 30)),
        ("14:00-14:30", at(13, 14, 29), at(13, 14), at(13, 14, 30)),
        ("14:00-14:30", at(13, 14, 30), at(14, 14), at(14, 14, 30)),
        (" 9:05 – 9:35 ", at(13, 9), at(13, 9, 5), at(13, 9, 35)),
        ("23:45-00:15", at(13, 22), at(13, 23, 45), at(14, 0, 15)),
        ("23:45-00:15", at(14, 0, 10), at(13, 23, 45), at(14, 0, 15)),
        ("23:45-00:15", at(14, 0, 15), at(14, 23, 45), at(15, 0, 15)),
    ],
)
def test_a_window_is_the_next_that_has_not_closed(
    text: str, now: datetime, opens: datetime, closes: datetime
) -> None:
    assert parse_window(text, now) == Window(opens.isoformat(), closes.isoformat())


def test_times_keep_the_zone_of_now_also_when_summer_time_begins() -> None:
    # Central European summer time began on 29 March 2026 at 02:00 (directive 2000/84/EC: the
    # last Sunday in March), so that day's window lies an hour earlier in UTC.
    before = datetime(2026, 3, 28, 15, 0, tzinfo=ZoneInfo("Europe/Berlin"))
    window = parse_window("14:00-14:30", before)
    assert window == Window("2026-03-29T14:00:00+02:00", "2026-03-29T14:30:00+02:00")
    assert window_span(window, before) == (22 * 3600.0, 22.5 * 3600.0)


@pytest.mark.parametrize("text", ["", "14-15", "14:00", "14:00-14:30-15:00", "2 pm", "14:0-14:30"])
def test_any_other_text_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(ValueError, match="14:00-14:30"):
        parse_window(text, at(13, 9))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("24:00-24:30", "no time of day"),
        ("14:00-14:60", "no time of day"),
        ("14:00-14:00", "closes later"),
        ("14:30-14:00", "opening time first"),
    ],
)
def test_windows_that_cannot_be_meant_are_refused(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        parse_window(text, at(13, 9))


def test_a_span_counts_from_the_start_whatever_the_zones() -> None:
    window = Window("2026-06-13T14:00:00-05:00", "2026-06-13T19:30:00Z")
    assert window_span(window, at(13, 13, 50)) == (600.0, 2400.0)


@pytest.mark.parametrize(
    "window",
    [
        Window("soon", "later"),
        Window("2026-06-13T14:00:00", "2026-06-13T14:30:00"),
        Window("2026-06-13T14:30:00Z", "2026-06-13T14:00:00Z"),
    ],
)
def test_a_window_without_zone_or_backward_is_refused(window: Window) -> None:
    with pytest.raises(ValueError, match="window"):
        window_span(window, at(13, 9))


def test_a_time_of_day_is_on_the_day_of_now() -> None:
    assert parse_clock("12:30", at(13, 9)) == at(13, 12, 30)
    with pytest.raises(ValueError, match="12:30"):
        parse_clock("half past", at(13, 9))

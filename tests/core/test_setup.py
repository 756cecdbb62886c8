"""The settings of a cook as a whole: what can change, and what is refused with advice."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.core.setup import changed_setup, range_text, window_of, window_text
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import CarryOver, CookHeader, FireSettings, Range, Setting, Window

SETUP = CookHeader("c", "2026-06-13T13:40:00+00:00")
WINDOW = Window("2026-06-13T14:00:00+00:00", "2026-06-13T14:30:00+00:00")


def changed(name: str, value: float | str | None, setup: CookHeader = SETUP) -> CookHeader:
    return changed_setup(setup, Setting(0.0, None, name, value))


def test_a_window_is_worked_with_in_seconds_since_the_cook_began() -> None:
    assert window_of(changed("window", window_text(WINDOW))) == (1200.0, 3000.0)
    assert window_of(changed("window", None)) is None


def test_a_clock_that_was_wrong_moves_the_window_and_nothing_else() -> None:
    setup = changed("window", window_text(WINDOW))
    later = changed("started", "2026-06-13T13:50:00+00:00", setup)
    assert window_of(later) == (600.0, 2400.0)
    assert replace(later, started=setup.started) == setup


def test_a_cook_that_does_not_know_when_it_started_has_no_window_in_seconds() -> None:
    assert window_of(replace(SETUP, started="a sunny day", window=WINDOW)) is None


def test_each_setting_changes_its_own_field() -> None:
    assert changed("rest_on", "board").rest_on == "board"
    assert changed("carry_over", "five_degrees").carry_over is CarryOver.FIVE_DEGREES
    assert changed("aim_share", 0.5).aim_share == 0.5
    assert changed("offset_s", 65.0).offset_s == 65.0
    assert changed("grate_channel", "p/3").fire == FireSettings(channel="p/3")
    assert changed("fire_floor_c", 230.0).fire.floor_c == 230.0
    assert changed("fire_ceiling_c", 330.0).fire.ceiling_c == 330.0


def test_a_step_takes_the_cook_s_own_time_until_it_is_given_back() -> None:
    own = changed("durations.walk", range_text(Range(120.0, 180.0)))
    assert dict(own.durations) == {"walk": Range(120.0, 180.0)}
    assert dict(changed("durations.walk", None, own).durations) == {}


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("rest_on", "plate", "rest_on is one of: rack, board"),
        ("window", "14:00-14:30", "That is no turn-in window"),
        ("window", f"{WINDOW.closes}/{WINDOW.opens}", "closes later than it opens"),
        ("started", "13:50", "ISO 8601 time with an offset"),
        ("started", "2026-06-13T13:50:00", "ISO 8601 time with an offset"),
        ("aim_share", 1.5, "aim_share must lie between 0 and 1"),
        ("offset_s", "soon", "offset_s must lie between"),
        ("fire_floor_c", 500.0, "floor must lie below its ceiling"),
        ("durations.walk", "3 min", "shortest/longest in seconds"),
        ("durations.walk", "240/120", "from the shortest to the longest"),
    ],
)
def test_what_nobody_means_is_refused_with_advice(name: str, value: float | str, says: str) -> None:
    with pytest.raises(RefusedError, match=says):
        changed(name, value)


@pytest.mark.parametrize("name", ["colour", "durations.nap"])
def test_a_setting_that_no_cook_has_is_named_with_those_it_has(name: str) -> None:
    with pytest.raises(UnknownNameError, match=r"it has .*(rest_on|walk)"):
        changed(name, 1.0)

"""What is remembered of one steak."""

import math

import pytest

from pullcall.events import Mark, MarkKind, SteakSettings
from pullcall.forecast.track import READINGS, SPOTS, Series, SteakTrack


def test_impossible_and_late_values_are_left_out() -> None:
    series = Series(10)
    assert series.add(1.0, 20.0)
    for t, celsius in [(1.0, 21.0), (0.5, 21.0), (2.0, math.nan), (2.0, 900.0), (math.inf, 20.0)]:
        assert not series.add(t, celsius)
    assert len(series) == 1


def test_the_window_is_bounded_in_number_and_in_age() -> None:
    track = SteakTrack(SteakSettings("left"))
    for i in range(4000):
        track.read(i * 0.05, 20.0 + i * 0.001)
        track.spot(i * 0.05, 30.0)
    t, _ = track.readings.until(1e9)
    assert len(t) <= READINGS
    assert t[0] >= t[-1] - 80.0
    assert len(track.spots) == SPOTS


def test_a_spike_is_not_the_highest_core() -> None:
    track = SteakTrack(SteakSettings("left"))
    for i in range(60):
        track.read(float(i), 90.0 if i == 40 else 50.0)
    assert track.highest_c == 50.0


def test_another_probe_starts_afresh_and_the_same_one_does_not() -> None:
    track = SteakTrack(SteakSettings("left", channel="a/1"))
    track.read(1.0, 20.0)
    track.set("channel", "a/1")
    assert len(track.readings) == 1
    track.set("channel", "a/2")
    assert len(track.readings) == 0


@pytest.mark.parametrize("value", [None, "54", math.nan])
def test_a_pull_temperature_that_is_none_is_left_alone(value: float | str | None) -> None:
    track = SteakTrack(SteakSettings("left", pull_c=53.0))
    track.set("pull_c", value)
    assert track.pull_c == 53.0


def test_a_steak_put_back_on_is_on_and_its_highest_core_starts_afresh() -> None:
    track = SteakTrack(SteakSettings("left"))
    track.mark(Mark(10.0, "left", MarkKind.ON))
    track.highest_c = 55.0
    track.mark(Mark(500.0, "left", MarkKind.OFF, at=495.0))
    track.mark(Mark(520.0, "left", MarkKind.BOXED))
    off = track.off_t
    track.mark(Mark(530.0, "left", MarkKind.ON))
    assert off == 495.0
    assert track.off_t is None
    assert track.highest_c is None

"""The rise over the last readings: its value, its window, and when there is none."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pullcall.forecast.rise_watch import RiseWatch


def watched(per_minute: float, until: float, every: float = 1.0, sigma: float = 0.0) -> RiseWatch:
    rng, watch = np.random.default_rng(4), RiseWatch()
    for t in np.arange(0.0, until + every / 2.0, every):
        watch.add(float(t), 20.0 + per_minute / 60.0 * float(t) + float(rng.normal(0.0, sigma)))
    return watch


@pytest.mark.parametrize("per_minute", [-6.0, -1.0, 0.0, 2.0, 4.5, 12.0])
@pytest.mark.parametrize("every", [0.5, 2.0])
def test_a_steady_rise_is_told_in_degrees_per_minute(per_minute: float, every: float) -> None:
    rise = watched(per_minute, 90.0, every).rise(90.0)
    assert rise is not None
    # The fit expects a core that bends toward its surface: a fast straight rise looks slower.
    assert rise.c_per_min == pytest.approx(per_minute, abs=0.1, rel=0.06)


def test_noise_and_a_wild_reading_leave_it_near_the_truth() -> None:
    watch = watched(4.0, 90.0, sigma=0.15)
    watch.add(91.0, 95.0)
    rise = watch.rise(91.0)
    assert rise is not None
    assert rise.c_per_min == pytest.approx(4.0, abs=1.5)


def test_the_window_is_that_of_the_readings_and_is_bounded() -> None:
    short, long = watched(4.0, 30.0).rise(30.0), watched(4.0, 900.0).rise(900.0)
    assert short is not None
    assert long is not None
    # What counts is what the fit has not forgotten: three forgetting times, 8 to 30 s each.
    assert 24.0 <= short.window_s <= 30.0
    assert 24.0 <= long.window_s <= 90.0


def test_there_is_none_from_too_few_readings_or_too_short_a_time() -> None:
    assert RiseWatch().rise(0.0) is None
    assert watched(4.0, 3.0).rise(3.0) is None
    assert watched(4.0, 5.0, every=0.2).rise(5.0) is None
    assert watched(4.0, 60.0).rise(60.0) is not None


def test_there_is_none_once_the_readings_are_old() -> None:
    watch = watched(4.0, 60.0)
    assert watch.rise(65.0) is not None
    assert watch.rise(120.0) is None


def test_readings_out_of_order_or_not_finite_are_refused() -> None:
    watch = RiseWatch()
    assert watch.add(1.0, 20.0)
    assert not watch.add(1.0, 21.0)
    assert not watch.add(0.5, 21.0)
    for broken in (math.nan, math.inf, -math.inf):
        assert not watch.add(2.0, broken)
    assert watch.add(3.0, 20.1)


def test_looking_changes_nothing() -> None:
    watch = watched(4.0, 60.0, sigma=0.1)
    assert watch.rise(61.0) == watch.rise(61.0)


def test_memory_is_bounded_however_fast_and_long_the_probe_talks() -> None:
    watch = RiseWatch()
    for n in range(20_000):
        watch.add(n * 0.05, 20.0 + n * 1e-4)
    assert len(watch._points) <= 1000


def test_readings_of_one_moment_are_one_also_after_the_probe_was_moved() -> None:
    watch = RiseWatch()
    for t in range(20):
        watch.add(float(t), 20.0 + t)
    for _ in range(3):
        watch.restart()
        assert not watch.add(19.0, 60.0)
    assert watch.add(20.0, 60.0)

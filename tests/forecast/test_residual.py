"""The residual filter against a textbook Kalman filter and closed forms, computed here."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.linalg import expm

from pullcall.forecast.residual import (
    FADES_S,
    FIRST_LEVEL_C,
    FIRST_RISE,
    LEVEL_WANDER,
    RISE_WANDER,
    Residual,
)

Array = NDArray[np.float64]
SEEN = np.array([1.0, 0.0])
#: d/dt (level, rise) = DRIFT (level, rise): the level moves by the rise, the rise fades.
DRIFT = np.array([[0.0, 1.0], [0.0, -1.0 / FADES_S]])


def textbook(times: Array, readings: Array, noise_var: float) -> tuple[Array, Array]:
    """Mean and covariance by the Kalman filter in its textbook form (Joseph update).

    The wander added between two readings is the filter's own definition: a rise that wanders
    without fading while it wanders, which differs from the exact one in the second order of
    dt / FADES_S (checked below).
    """
    mean, var, t = np.zeros(2), np.diag([FIRST_LEVEL_C**2, FIRST_RISE**2]), 0.0
    for at, reading in zip(times, readings, strict=True):
        dt = float(at) - t
        step = expm(DRIFT * dt)
        shape = np.array([[dt**3 / 3.0, dt**2 / 2.0], [dt**2 / 2.0, dt]])
        var = step @ var @ step.T + RISE_WANDER**2 * shape + LEVEL_WANDER**2 * dt * np.diag(SEEN)
        mean, t = step @ mean, float(at)
        gain = var @ SEEN / (SEEN @ var @ SEEN + noise_var)
        mean = mean + gain * (reading - mean[0])
        keep = np.eye(2) - np.outer(gain, SEEN)
        var = keep @ var @ keep.T + noise_var * np.outer(gain, gain)
    return mean, var


def learned(times: Array, readings: Array, noise_var: float) -> Residual:
    """Every row of ``readings`` (M, K) is one member's error."""
    residual = Residual(len(readings), 0.0)
    for at, seen in zip(times, readings.T, strict=True):
        residual.move(float(at))
        residual.learn(seen - residual.level, noise_var)
    return residual


def test_it_is_the_textbook_filter_for_every_member_at_once() -> None:
    rng = np.random.default_rng(2)
    times = np.cumsum(rng.uniform(0.5, 12.0, 60))
    readings = rng.normal(0.0, 1.0, (3, 60)) + 0.01 * times
    residual = learned(times, readings, 0.09)
    for member in range(3):
        mean, var = textbook(times, readings[member], 0.09)
        assert residual.level[member] == pytest.approx(mean[0], rel=1e-9)
        assert residual.rise[member] == pytest.approx(mean[1], rel=1e-9)
        assert residual.spread_of(0.0) == pytest.approx(var[0, 0], rel=1e-9)
        assert residual.sd_at(times[-1:])[0] ** 2 == pytest.approx(var[0, 0], rel=1e-9)


def test_between_readings_it_goes_on_as_its_differential_equation_does() -> None:
    residual = learned(np.array([1.0, 2.0, 4.0]), np.array([[0.5, 0.9, 1.4]]), 0.04)
    now = np.array([residual.level[0], residual.rise[0]])
    for ahead in (0.0, 3.0, 30.0, 300.0):
        expected = (expm(DRIFT * ahead) @ now)[0]
        assert residual.at(np.array([4.0 + ahead]))[0] == pytest.approx(expected, rel=1e-9)
        assert residual.path(np.array([4.0 + ahead]))[0, 0] == pytest.approx(expected, rel=1e-9)
        twin = learned(np.array([1.0, 2.0, 4.0]), np.array([[0.5, 0.9, 1.4]]), 0.04)
        sd_ahead = twin.sd_at(np.array([4.0 + ahead]))[0]
        twin.move(4.0 + ahead)
        assert twin.level[0] == pytest.approx(expected, rel=1e-9)
        assert np.sqrt(twin.spread_of(0.0)) == pytest.approx(sd_ahead, rel=1e-9)


def test_far_ahead_the_level_ends_where_a_fading_rise_leaves_it() -> None:
    residual = Residual(1, 0.0)
    residual.level, residual.rise = np.array([1.5]), np.array([0.02])
    # The integral of r exp(-t / tau) over all time is r tau (elementary).
    assert residual.at(np.array([1e5]))[0] == pytest.approx(1.5 + 0.02 * FADES_S, rel=1e-9)


def test_the_wander_between_close_readings_is_that_of_a_fading_random_rise() -> None:
    """Level variance after dt of a fading rise driven by white noise, by quadrature.

    The rise's effect on the level of a kick at age s is FADES_S (1 - exp(-s / FADES_S)).
    """
    dt = 2.0
    reach, _ = quad(lambda age: (FADES_S * -np.expm1(-age / FADES_S)) ** 2, 0.0, dt)
    exact = RISE_WANDER**2 * reach + LEVEL_WANDER**2 * dt
    residual = Residual(1, 0.0)
    residual.learn(np.zeros(1), 1e-12)
    residual.forget_rise(0.0)
    before = residual.spread_of(0.0)
    residual.move(dt)
    assert residual.spread_of(0.0) - before == pytest.approx(exact, rel=0.01)


def test_without_wander_a_line_is_found_as_least_squares_finds_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    module = "pullcall.forecast.residual"
    for name, value in (("LEVEL_WANDER", 0.0), ("RISE_WANDER", 0.0), ("FADES_S", 1e9)):
        monkeypatch.setattr(f"{module}.{name}", value)
    monkeypatch.setattr(f"{module}.FIRST_LEVEL_C", 1e3)
    monkeypatch.setattr(f"{module}.FIRST_RISE", 1e2)
    rng = np.random.default_rng(3)
    times = np.arange(1.0, 61.0, 2.0)
    readings = 0.7 + 0.02 * times + rng.normal(0.0, 0.1, len(times))
    slope, at_zero = np.polyfit(times, readings, 1)
    residual = learned(times, readings[None, :], 0.01)
    assert residual.rise[0] == pytest.approx(slope, rel=1e-3)
    assert residual.level[0] == pytest.approx(at_zero + slope * times[-1], abs=1e-3)
    # The variance of the line at its last point (elementary).
    spread = np.sum((times - times.mean()) ** 2)
    at_end = 0.01 * (1.0 / len(times) + (times[-1] - times.mean()) ** 2 / spread)
    assert residual.spread_of(0.0) == pytest.approx(at_end, rel=1e-3)


def test_time_without_readings_only_makes_it_less_sure_and_a_reading_only_more() -> None:
    residual = learned(np.arange(1.0, 40.0), np.zeros((1, 39)), 0.04)
    sds = residual.sd_at(np.arange(39.0, 600.0, 5.0))
    assert np.all(np.diff(sds) > 0.0)
    residual.move(60.0)
    before = residual.sd_at(np.array([60.0, 80.0, 200.0]))
    residual.learn(np.zeros(1), 0.04)
    assert np.all(residual.sd_at(np.array([60.0, 80.0, 200.0])) < before)


def test_going_back_in_time_changes_nothing() -> None:
    residual = learned(np.array([5.0]), np.array([[1.0]]), 0.04)
    level, spread = residual.level.copy(), residual.spread_of(0.0)
    residual.move(3.0)
    assert residual.t == 5.0
    assert np.array_equal(residual.level, level)
    assert residual.spread_of(0.0) == spread


def test_loosened_it_is_less_sure_by_just_that_much_and_learns_faster() -> None:
    residual = learned(np.arange(1.0, 40.0), np.zeros((1, 39)), 0.04)
    before = residual.spread_of(0.0)
    residual.loosen(level_c=5.0)
    assert residual.spread_of(0.0) == pytest.approx(before + 25.0, rel=1e-12)
    residual.learn(np.array([6.0]), 0.04)
    assert residual.level[0] == pytest.approx(6.0, abs=0.05)


def test_a_forgotten_rise_leaves_the_level() -> None:
    residual = learned(np.arange(1.0, 40.0), 0.05 * np.arange(1.0, 40.0)[None, :], 0.04)
    level, spread = residual.level.copy(), residual.spread_of(0.0)
    residual.forget_rise(0.01)
    assert np.array_equal(residual.level, level)
    assert residual.spread_of(0.0) == spread
    assert residual.at(np.array([139.0]))[0] == level[0]


def test_picked_members_keep_their_own_error() -> None:
    residual = learned(np.array([1.0, 2.0]), np.array([[0.0, 0.1], [2.0, 2.2]]), 0.04)
    second = residual.level[1], residual.rise[1]
    residual.picked(np.array([1, 1]))
    assert residual.level.tolist() == [second[0]] * 2
    assert residual.rise.tolist() == [second[1]] * 2

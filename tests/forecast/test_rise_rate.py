"""The robust local fit against outside figures and curves with a known rise."""

import numpy as np
import pytest
from scipy import stats

from pullcall.forecast.rise_rate import (
    FORGETTING_LIMITS_S,
    LocalFit,
    fit_rise,
    forgetting_s,
    relaxing_bend,
)

# One value in ten is broken. scipy theilslopes: slope 2.000, intercept .950 (95 % 1.95-2.06);
# statsmodels Huber 2.00589 / 1.04922; least squares 2.309 / 1.349 (computed with both).
X = np.arange(10.0)
Y = np.array([1.1, 2.9, 5.2, 7.1, 8.8, 11.1, 30.0, 15.2, 16.9, 19.1])

STRAIGHT = 1e-12  # curvature sd, K/s2, that leaves no bend
FLAT_FAR = 1e9  # a surface so hot that relaxing toward it is a straight line, C
FOREVER = 1e12  # forgetting time, s


def straight(t: np.ndarray, celsius: np.ndarray, sigma: float) -> LocalFit:
    return fit_rise(t, celsius, sigma, FOREVER, STRAIGHT, FLAT_FAR)


def test_one_broken_value_in_ten_leaves_the_line_where_robust_statistics_put_it() -> None:
    fit = straight(X, Y, sigma=0.05)
    theil = stats.theilslopes(Y, X)
    assert theil.slope == pytest.approx(2.000, abs=5e-4)
    assert theil.low_slope <= fit.rise <= theil.high_slope
    assert fit.rise == pytest.approx(2.00589, rel=0.005)
    at_zero = fit.core_c - fit.rise * X[-1]
    assert at_zero == pytest.approx(1.04922, abs=0.05)
    least_squares = stats.linregress(X, Y)
    assert least_squares.slope == pytest.approx(2.309, abs=5e-4)
    assert abs(fit.rise - 2.0) < 0.05 * abs(least_squares.slope - 2.0)


def test_without_outliers_the_line_is_the_least_squares_line() -> None:
    rng = np.random.default_rng(5)
    t = np.arange(0.0, 60.0, 2.0)
    celsius = 30.0 + 0.07 * t + rng.uniform(-0.05, 0.05, len(t))
    expected = stats.linregress(t, celsius)
    fit = straight(t, celsius, sigma=0.1)
    assert fit.rise == pytest.approx(expected.slope, rel=1e-6)
    assert np.sqrt(fit.covariance[1, 1]) == pytest.approx(
        0.1 / np.sqrt(np.sum((t - t.mean()) ** 2)), rel=1e-6
    )


def test_spikes_move_the_rise_less_than_its_own_uncertainty() -> None:
    rng = np.random.default_rng(6)
    t = np.arange(0.0, 80.0, 1.0)
    clean = 35.0 + 0.08 * t + rng.normal(0.0, 0.15, len(t))
    broken = clean.copy()
    broken[[20, 50, 51, 70]] += [40.0, -20.0, -22.0, 9.0]
    with_spikes, without = (fit_rise(t, y, 0.15, 16.0) for y in (broken, clean))
    assert abs(with_spikes.rise - without.rise) < np.sqrt(without.covariance[1, 1])
    assert abs(with_spikes.core_c - without.core_c) < 0.1


def test_a_core_relaxing_toward_its_surface_is_fitted_with_its_bend() -> None:
    # T = S - (S - T0) exp(-t/tau): elementary, rise (S - T)/tau, bend -rise/tau.
    t = np.arange(0.0, 80.0, 1.0)
    celsius = 100.0 - 60.0 * np.exp(-t / 600.0)
    fit = fit_rise(t, celsius, 0.05, 16.0)
    rise = (100.0 - celsius[-1]) / 600.0
    assert fit.core_c == pytest.approx(celsius[-1], abs=0.005)
    assert fit.rise == pytest.approx(rise, rel=0.005)
    assert fit.curvature == pytest.approx(-rise / 600.0, rel=0.05)
    assert relaxing_bend(float(celsius[-1]), rise) == pytest.approx(-rise / 600.0, rel=1e-9)


def test_the_rise_of_a_noisy_line_is_within_the_stated_uncertainty_as_often_as_stated() -> None:
    rng = np.random.default_rng(7)
    t = np.arange(0.0, 60.0, 2.0)
    z = []
    for _ in range(400):
        fit = straight(t, 30.0 + 0.08 * t + rng.normal(0.0, 0.2, len(t)), sigma=0.2)
        z.append((fit.rise - 0.08) / np.sqrt(fit.covariance[1, 1]))
    # 80 % of normal errors are within 1.2816 sd; 400 trials give it to +-2 % (one sd).
    assert np.mean(np.abs(z) < 1.2816) == pytest.approx(0.8, abs=0.06)


def test_moving_the_origin_keeps_the_curve_and_widens_it_ahead() -> None:
    t = np.arange(0.0, 40.0, 2.0)
    fit = fit_rise(t, 30.0 + 0.08 * t + 1e-4 * t**2, 0.1, 16.0)
    ahead = fit.moved(fit.at + 20.0)
    assert ahead.core_c == pytest.approx(
        fit.core_c + 20.0 * fit.rise + 200.0 * fit.curvature, rel=1e-9
    )
    assert ahead.covariance[0, 0] > fit.covariance[0, 0]
    assert ahead.moved(fit.at).rise == pytest.approx(fit.rise, rel=1e-9)


def test_noisier_probes_are_remembered_longer_within_limits() -> None:
    quiet, usual, noisy = (forgetting_s(s, 1.0) for s in (0.05, 0.2, 0.5))
    assert FORGETTING_LIMITS_S[0] <= quiet < usual < noisy <= FORGETTING_LIMITS_S[1]
    assert forgetting_s(0.0, 1.0) == FORGETTING_LIMITS_S[0]
    assert forgetting_s(9.0, 10.0) == FORGETTING_LIMITS_S[1]


def test_the_time_of_crossing_is_as_sure_as_the_cramer_rao_bound_allows() -> None:
    # Time at which a noisy line crosses a level, Cramer-Rao:
    # sd >= (sigma/b) sqrt(1/N + (t*-tbar)^2/Stt). 31 samples 2 s apart, sigma .1, b .05, 14 K
    # away: 5.033 s (Monte Carlo 5.025 s), computed. Tolerance 2 %. The 14 K count from the first.
    t = np.arange(31) * 2.0
    fit = straight(t, 40.0 + 0.05 * t, sigma=0.1)
    ahead = fit.moved(14.0 / 0.05)
    assert np.sqrt(ahead.covariance[0, 0]) / ahead.rise == pytest.approx(5.033, rel=0.02)

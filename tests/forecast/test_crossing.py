"""The time to a level and its spread against closed forms and the Cramer-Rao bound."""

import numpy as np
import pytest

from pullcall.forecast.crossing import (
    LAST_S,
    crossing_sd,
    quantiles_of,
    rise_at_level,
    time_to_level,
)
from pullcall.forecast.rise_rate import LocalFit, fit_rise


def fit_at(core: float, rise: float, bend: float = 0.0, sd: float = 0.1) -> LocalFit:
    return LocalFit(0.0, core, rise, bend, np.diag([sd**2, 1e-6, 1e-10]), 60.0)


def test_the_spread_of_a_straight_crossing_is_the_cramer_rao_figure() -> None:
    # sd >= (sigma/b) sqrt(1/N + (t*-tbar)^2/Stt); 31 samples 2 s apart, sigma .1, b .05, 14 K
    # away: 5.033 s (Cramer-Rao; Monte Carlo 5.025 s). Tolerance 2 %.
    t = np.arange(0.0, 62.0, 2.0)
    fit = fit_rise(t, 40.0 + 0.05 * t, 0.1, 1e12, 1e-12, 1e9)
    ahead = time_to_level(fit, 40.0 + 14.0)
    assert ahead == pytest.approx(280.0 - 60.0, abs=0.01)
    sd = crossing_sd(fit, 54.0, 280.0 - 60.0, wander=0.0)
    assert sd == pytest.approx(5.033, rel=0.02)


@pytest.mark.parametrize("away", [1.0, 10.0, 20.0])
def test_a_relaxing_core_crosses_where_the_exponential_says(away: float) -> None:
    # T = S - (S - T0) exp(-t/tau) meets L after tau ln((S - T0)/(S - L)): elementary.
    surface, tau, core = 100.0, 500.0, 34.0
    rise = (surface - core) / tau
    fit = fit_at(core, rise, -rise / tau)
    expected = tau * np.log((surface - core) / (surface - core - away))
    assert time_to_level(fit, core + away) == pytest.approx(expected, rel=1e-9)
    assert rise_at_level(fit, core + away) == pytest.approx((surface - core - away) / tau)


def test_a_growing_rise_crosses_where_the_parabola_says() -> None:
    fit = fit_at(30.0, 0.05, 2e-4)
    ahead = time_to_level(fit, 42.0)
    assert ahead is not None
    assert 30.0 + 0.05 * ahead + 1e-4 * ahead**2 == pytest.approx(42.0, rel=1e-9)
    assert rise_at_level(fit, 42.0) == pytest.approx(0.05 + 2e-4 * ahead, rel=1e-9)


def test_the_slower_the_bend_the_later_the_crossing_without_a_jump() -> None:
    times = [time_to_level(fit_at(40.0, 0.08, -b), 54.0) for b in np.linspace(-3e-4, 6e-4, 200)]
    finite = [t for t in times if t is not None]
    assert len(finite) == 200
    steps = np.diff(finite)
    assert np.all(steps >= -1e-9)
    assert steps.max() < 0.1 * max(finite)


def test_without_a_rise_there_is_no_crossing() -> None:
    assert time_to_level(fit_at(40.0, 0.0), 54.0) is None
    assert time_to_level(fit_at(40.0, -0.05), 54.0) is None


def test_the_spread_grows_with_the_distance_and_with_the_noise() -> None:
    near, far = (crossing_sd(fit_at(40.0, 0.08), 40.0 + d, d / 0.08) for d in (2.0, 10.0))
    assert near < far
    assert crossing_sd(fit_at(40.0, 0.08, sd=0.4), 42.0, 25.0) > near


@pytest.mark.parametrize("at", [-50.0, -1.0, 0.0, 0.4, 30.0, 900.0, 1800.0])
@pytest.mark.parametrize("sd", [0.0, 0.3, 20.0, 4000.0])
def test_quantiles_are_in_order_and_never_in_the_past(at: float, sd: float) -> None:
    q = quantiles_of(at, sd)
    assert 0.0 <= q.p10 <= q.p50 <= q.p90 <= LAST_S


def test_a_small_spread_gives_the_normal_quantiles() -> None:
    # 10th and 90th percentile of a normal distribution: 1.2816 sd (from memory).
    q = quantiles_of(100.0, 1.0)
    assert (q.p10, q.p50, q.p90) == pytest.approx((98.7, 100.0, 101.3), abs=0.06)

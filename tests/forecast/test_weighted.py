"""Weighted quantiles and resampling against numpy, closed forms and counts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pullcall.forecast.weighted import POINTS, quantiles, resample, weights_of

LEVELS = (0.1, 0.5, 0.9)


def test_equal_weights_give_numpys_quantiles() -> None:
    values = np.random.default_rng(1).normal(50.0, 10.0, 600)
    found = quantiles(values, np.full(600, 1.0 / 600.0), digits=6)
    # numpy's "hazen": the k-th of n values is the (k - 1/2) / n quantile.
    expected = np.quantile(values, LEVELS, method="hazen")
    assert (found.p10, found.p50, found.p90) == pytest.approx(tuple(expected), abs=1e-5)


def test_whole_number_weights_are_repetitions() -> None:
    rng = np.random.default_rng(2)
    values, counts = rng.normal(0.0, 1.0, 300), rng.integers(1, 6, 300)
    weighted = quantiles(values, counts / counts.sum(), digits=6)
    repeated = np.quantile(np.repeat(values, counts), LEVELS)
    found = (weighted.p10, weighted.p50, weighted.p90)
    assert found == pytest.approx(tuple(repeated), abs=0.02)


def test_the_points_are_the_middles_of_three_equal_shares_of_a_normal() -> None:
    # The 1/6, 3/6 and 5/6 quantiles of a standard normal (scipy).
    assert pytest.approx(stats.norm.ppf([1 / 6, 3 / 6, 5 / 6]), abs=1e-3) == POINTS


def test_points_of_a_member_share_its_weight() -> None:
    points = np.array([[0.0, 0.0, 0.0], [90.0, 100.0, 110.0]])
    found = quantiles(points, np.array([0.5, 0.5]), digits=3)
    assert found.p10 == 0.0
    assert 100.0 < found.p90 <= 110.0


def test_a_member_that_is_all_but_certain_decides_alone() -> None:
    weights = weights_of(np.array([0.0, -800.0, -900.0]))
    found = quantiles(np.array([5.0, 50.0, 500.0]), weights, digits=3)
    assert (found.p10, found.p50, found.p90) == (5.0, 5.0, 5.0)


@given(
    st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=30),
    st.floats(-500.0, 500.0),
)
def test_weights_add_up_to_one_and_do_not_care_for_a_common_factor(
    logs: list[float], shift: float
) -> None:
    plain, moved = weights_of(np.array(logs)), weights_of(np.array(logs) + shift)
    assert plain.sum() == pytest.approx(1.0)
    assert np.all(plain >= 0.0)
    assert moved == pytest.approx(plain, abs=1e-9)


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=40), st.integers(1, 300))
def test_resampled_members_come_in_proportion(raw: list[float], count: int) -> None:
    weights = np.array(raw) + 1e-6
    weights /= weights.sum()
    rows = resample(weights, count)
    assert len(rows) == count
    assert np.all(np.diff(rows) >= 0)
    # Systematic resampling: each comes floor or ceil of its share times (from memory).
    counts = np.bincount(rows, minlength=len(weights))
    assert np.all(np.abs(counts - weights * count) < 1.0 + 1e-6)


def test_equal_weights_resample_to_themselves() -> None:
    assert resample(np.full(50, 0.02), 50).tolist() == list(range(50))

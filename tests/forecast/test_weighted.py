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
    found = quantiles(values, np.full(600, 1.0 / 600.0), 0.0, digits=6)
    # numpy's "hazen": the k-th of n values is the (k - 1/2) / n quantile. Each value stands here
    # as five equal points, so between two values the answers part by less than one step.
    for got, level in zip((found.p10, found.p50, found.p90), LEVELS, strict=True):
        ranked = np.sort(values)
        place = round(level * 600)
        step = ranked[place + 1] - ranked[place - 2]
        assert got == pytest.approx(np.quantile(values, level, method="hazen"), abs=step)


def test_whole_number_weights_are_repetitions() -> None:
    rng = np.random.default_rng(2)
    values, counts = rng.normal(0.0, 1.0, 300), rng.integers(1, 6, 300)
    weighted = quantiles(values, counts / counts.sum(), 0.0, digits=6)
    repeated = np.quantile(np.repeat(values, counts), LEVELS)
    found = (weighted.p10, weighted.p50, weighted.p90)
    assert found == pytest.approx(tuple(repeated), abs=0.02)


def test_the_own_spread_of_a_member_has_the_levels_of_five_equal_shares() -> None:
    # The middles of five equally likely slices of a standard normal are its .1 .3 .5 .7 .9
    # quantiles (scipy).
    assert pytest.approx(stats.norm.ppf([0.1, 0.3, 0.5, 0.7, 0.9]), abs=1e-4) == POINTS


def test_members_and_their_own_spread_add_up_in_squares() -> None:
    values = 100.0 + 3.0 * stats.norm.ppf((np.arange(2000) + 0.5) / 2000)
    found = quantiles(values, np.full(2000, 1 / 2000), 4.0, digits=4)
    expected = stats.norm(100.0, 5.0).ppf(LEVELS)
    # Five points have .92 of the variance of the normal they stand for (computed).
    assert (found.p10, found.p50, found.p90) == pytest.approx(tuple(expected), abs=0.4)


def test_each_member_may_have_a_spread_of_its_own() -> None:
    values, weights = np.array([0.0, 100.0]), np.array([0.5, 0.5])
    found = quantiles(values, weights, np.array([0.0, 10.0]), digits=3)
    assert found.p10 == 0.0
    assert 100.0 < found.p90 < 115.0


def test_a_member_that_is_all_but_certain_decides_alone() -> None:
    weights = weights_of(np.array([0.0, -800.0, -900.0]))
    found = quantiles(np.array([5.0, 50.0, 500.0]), weights, 0.0, digits=3)
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

"""The robust slope against a rank statistic of another make, and against spoiled points."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from pullcall.fire.slope import theil_sen

_FIGURES = st.floats(-50.0, 900.0, allow_nan=False)


@given(st.lists(_FIGURES, min_size=2, max_size=40))
def test_the_slope_is_the_theil_sen_estimate_of_scipy(figures: list[float]) -> None:
    times = [3.0 * k for k in range(len(figures))]
    expected = theilslopes(figures, times).slope
    assert theil_sen(list(zip(times, figures, strict=True))) == pytest.approx(expected, abs=1e-9)


def test_three_spoiled_points_in_twelve_do_not_turn_the_slope() -> None:
    points = [(5.0 * k, 300.0 - 0.1 * 5.0 * k) for k in range(12)]
    for k in (2, 7, 10):
        points[k] = (points[k][0], 900.0)
    assert theil_sen(points) == pytest.approx(-0.1, abs=0.02)


def test_one_moment_has_no_slope() -> None:
    assert theil_sen([]) is None
    assert theil_sen([(1.0, 300.0)]) is None
    assert theil_sen([(1.0, 300.0), (1.0, 310.0)]) is None

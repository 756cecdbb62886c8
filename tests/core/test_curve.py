"""A steak's readings for drawing."""

from __future__ import annotations

from itertools import pairwise

import pytest

from pullcall.core.curve import Curve


@pytest.mark.parametrize("interval_s", [0.5, 1.0])
@pytest.mark.parametrize("handed_on_after", [2, 300, 500, 1700, 5000])
def test_a_curve_that_goes_on_elsewhere_is_thinned_as_if_it_had_stayed(
    interval_s: float, handed_on_after: int
) -> None:
    stayed = other = Curve()
    for k in range(6000):
        if k == handed_on_after:
            other = Curve(stayed.points())
        stayed.add(k * interval_s, 5.0 + k % 40)
        if other is not stayed:
            other.add(k * interval_s, 5.0 + k % 40)
    assert len(stayed.points()) < 400
    assert other.points() == stayed.points()


@pytest.mark.parametrize("interval_s", [3.0, 7.0])
def test_a_curve_of_rare_readings_that_goes_on_elsewhere_stays_whole_and_even(
    interval_s: float,
) -> None:
    curve = Curve()
    for k in range(3000):
        if k % 100 == 50:
            curve = Curve(curve.points())
        curve.add(k * interval_s, 5.0)
    times = [t for t, _ in curve.points()]
    gaps = [after - before for before, after in pairwise(times)]
    assert (times[0], 200 <= len(times) < 400) == (0.0, True)
    assert times[-1] > 2900 * interval_s
    assert max(gaps) <= 2 * min(gaps)

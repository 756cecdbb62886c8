"""The last minutes of a probe: spikes out, thinned, bounded."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pullcall.proposals.rules import KEPT_S, POINT_S
from pullcall.proposals.trace import Trace
from tests.proposals.cases import traced


@pytest.mark.parametrize("step_s", [0.5, 1.0, 2.0, 5.0])
def test_a_line_keeps_its_slope_at_every_pace(step_s: float) -> None:
    trace = traced(lambda t: 10.0 + t / 20.0, 200.0, step_s, noise_c=0.0)
    assert trace.slope(140.0, 200.0) == pytest.approx(3.0, abs=0.05)
    assert trace.level(190.0, 200.0) == pytest.approx(10.0 + 195.0 / 20.0, abs=0.2)


def test_one_spike_leaves_no_trace() -> None:
    trace = traced(lambda t: 80.0 if t == 50.0 else 10.0, 100.0, noise_c=0.0)
    assert {celsius for _, celsius in trace.points} == {10.0}


def test_what_is_no_number_or_comes_late_is_dropped() -> None:
    trace = traced(lambda t: 10.0, 50.0, noise_c=0.0)
    before = list(trace.points)
    for t, celsius in ((51.0, math.nan), (52.0, math.inf), (20.0, 90.0), (50.0, 90.0)):
        assert not trace.add(t, celsius)
    assert list(trace.points) == before


@given(st.lists(st.floats(0.01, 30.0, allow_nan=False), min_size=1, max_size=400))
@example([5.0] * 4 + [KEPT_S - 10.5, 0.5, 0.5])  # the last makes no point and ages the first
def test_points_are_apart_in_order_and_bounded(gaps: list[float]) -> None:
    trace, t = Trace(), 0.0
    for gap in gaps:
        t += gap
        trace.add(t, 10.0)
    times = [point[0] for point in trace.points]
    assert times == sorted(times)
    assert all(t - KEPT_S <= time <= t for time in times)
    assert len(times) <= KEPT_S / (0.5 * POINT_S)


def test_ten_readings_a_second_make_no_more_points_than_one() -> None:
    fast, slow = traced(lambda t: 10.0, 300.0, 0.1), traced(lambda t: 10.0, 300.0, 1.0)
    assert len(fast.points) <= KEPT_S / POINT_S * 1.3
    assert len(slow.points) <= KEPT_S / POINT_S * 1.3

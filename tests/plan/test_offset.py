"""The offset between two steaks: just enough that pulls do not collide, none if they do not."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.events import Range, SteakSettings
from pullcall.plan.day import Day
from pullcall.plan.offset import APART_S, APART_SHARE, STEP_S, propose, propose_for
from tests.plan.days import LEFT, RIGHT


def day(cook: Range) -> Day:
    return Day((LEFT, RIGHT), {"cook": cook})


@pytest.mark.parametrize("width_s", [120.0, 210.0, 240.0])
def test_two_alike_are_put_apart_as_the_triangle_asks(width_s: float) -> None:
    # The difference of two uniform times of width w is a triangle from -w to w (elementary). An
    # offset d leaves pulls closer than a in 2 a (w - d) / w^2 of cooks, while a <= d <= w - a.
    exact = width_s - (1.0 - APART_SHARE) * width_s**2 / (2.0 * APART_S)
    assert APART_S <= exact <= width_s - APART_S
    found = propose_for(day(Range(600.0, 600.0 + width_s)))
    assert found is not None
    # Rounded up to a step, and the 2000 samples move the share by 0.9 % (one standard error),
    # which two of are worth this many seconds of the line above.
    sampled = 2.0 * 0.009 * width_s**2 / (2.0 * APART_S)
    assert exact - sampled <= found.offset_s <= exact + sampled + STEP_S
    assert found.apart >= APART_SHARE
    assert found.gap_s.p50 == pytest.approx(found.offset_s, abs=0.05 * width_s)


def test_two_without_spread_need_just_the_time_apart() -> None:
    found = propose_for(day(Range(600.0, 600.0)))
    assert found is not None
    assert (found.offset_s, found.apart) == (APART_S, 1.0)


def test_a_thick_and_a_thin_one_go_on_together() -> None:
    thick = SteakSettings("right", thickness_mm=45.0)
    found = propose_for(Day((LEFT, thick), {}))
    assert found is not None
    assert found.offset_s == 0.0
    assert found.gap_s.p10 > APART_S


def test_one_steak_has_nothing_to_collide_with() -> None:
    assert propose_for(Day((LEFT,), {})) is None


@given(
    st.lists(st.integers(-300, 300), min_size=50, max_size=200),
    st.integers(0, 200),
)
def test_no_lesser_offset_would_have_done(gaps: list[int], least_s: int) -> None:
    samples = np.array(gaps, dtype=np.float64)

    def apart(offset_s: float) -> float:
        return float(np.mean(np.abs(samples + offset_s) >= APART_S))

    found = propose(samples, least_s)
    assert found.offset_s >= least_s
    assert found.apart == pytest.approx(apart(found.offset_s))
    if found.apart >= APART_SHARE:
        lesser = np.arange(found.offset_s - STEP_S, least_s - 1.0, -STEP_S)
        assert all(apart(float(offset_s)) < APART_SHARE for offset_s in lesser)

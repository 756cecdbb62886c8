"""Off is proposed when the probe left the meat or the rise bent; only the first can be sure."""

from __future__ import annotations

from collections.abc import Callable
from math import exp

import pytest

from pullcall.proposals.coming_off import BendWatch, LeavingWatch
from pullcall.proposals.found import Found
from pullcall.proposals.rules import BEND_AFTER_FLIP_S, LEFT_SURE_S
from pullcall.proposals.trace import Trace
from tests.proposals.cases import PULL_C, Curve

OFF_T = 300.0
AIR_C = 22.0
_Look = Callable[[Trace], Found | None]


def _rising(t: float) -> float:
    """Three kelvin per minute, 53 C at ``OFF_T``: about to be pulled."""
    return 53.0 + 3.0 * (t - OFF_T) / 60.0


def _told(look: _Look, curve: Curve, end_t: float = 500.0) -> list[tuple[float, Found]]:
    """What is found after each reading, without repeats."""
    trace, told = Trace(), list[tuple[float, Found]]()
    for t in range(int(end_t)):
        if trace.add(float(t), round(curve(float(t)), 1)):
            found = look(trace)
            if found is not None and (not told or told[-1][1] != found):
                told.append((float(t), found))
    return told


def _leaving(curve: Curve) -> list[tuple[float, Found]]:
    watch = LeavingWatch()
    return _told(lambda trace: watch.see(trace, PULL_C), curve)


def _bending(curve: Curve, flipped_t: float | None = None) -> list[tuple[float, Found]]:
    watch = BendWatch()
    return _told(lambda trace: watch.see(trace, PULL_C, 32.0, flipped_t), curve, 700.0)


@pytest.mark.parametrize("lag_s", [4.0, 10.0, 30.0])
def test_a_probe_that_cools_in_air_left_the_meat_and_in_the_end_that_is_sure(lag_s: float) -> None:
    """Newton's law of cooling toward air of 22 C."""

    def out(t: float) -> float:
        if t <= OFF_T:
            return _rising(t)
        return AIR_C + (53.0 - AIR_C) * exp(-(t - OFF_T) / lag_s)

    told = _leaving(out)
    assert [found.sure for _, found in told] == [False, True]
    (first_t, first), (sure_t, _) = told
    assert first.happened == pytest.approx(OFF_T, abs=6.0)
    assert first_t - OFF_T < 15.0 + lag_s
    assert sure_t - first_t >= LEFT_SURE_S


@pytest.mark.parametrize("by_c", [-3.0, -8.0, -11.0, 5.0, 20.0])
def test_a_slip_inside_the_meat_is_no_leaving(by_c: float) -> None:
    assert _leaving(lambda t: _rising(t) + (by_c if t > OFF_T else 0.0)) == []


@pytest.mark.parametrize("by_c", [-15.0, -20.0, -30.0])
@pytest.mark.parametrize("lag_s", [0.1, 3.0, 8.0])
def test_even_an_impossible_slip_that_stays_warm_is_never_sure(by_c: float, lag_s: float) -> None:
    def slipped(t: float) -> float:
        fall = 1.0 - exp(-max(0.0, t - OFF_T) / lag_s)
        return max(30.5, _rising(t) + by_c * fall)

    told = _leaving(slipped)
    assert told
    assert not any(found.sure for _, found in told)


def test_a_broken_wire_is_never_sure() -> None:
    told = _leaving(lambda t: _rising(t) if t <= OFF_T else 0.0)
    assert told
    assert not any(found.sure for _, found in told)


@pytest.mark.parametrize("out_s", [10.0, 20.0])
def test_a_probe_put_back_is_in_the_meat_again(out_s: float) -> None:
    watch, trace = LeavingWatch(), Trace()
    seen = []
    for t in range(500):
        out = OFF_T < t <= OFF_T + out_s
        celsius = AIR_C + 20.0 * exp(-(t - OFF_T) / 6.0) if out else _rising(t)
        if trace.add(float(t), round(celsius, 1)):
            seen.append(watch.see(trace, PULL_C))
    assert any(found is not None for found in seen) or out_s < 15.0
    assert not any(found is not None and found.sure for found in seen)
    assert seen[-1] is None


def test_a_probe_that_leaves_a_half_raw_steak_says_nothing_of_off() -> None:
    assert _leaving(lambda t: _rising(t) - 25.0 if t <= OFF_T else AIR_C - 15.0) == []


def _pulled(t: float, steep: float = 3.0) -> float:
    """The rise dies down after off, and turns into a slow fall."""
    if t <= OFF_T:
        return 53.0 + steep * (t - OFF_T) / 60.0
    after = t - OFF_T
    return 53.0 + steep * (1.0 - exp(-after / 60.0)) - 0.8 * max(0.0, after - 60.0) / 60.0


def test_a_rise_that_bends_near_the_pull_is_an_off() -> None:
    told = _bending(_pulled)
    assert len(told) == 1
    t, found = told[0]
    assert OFF_T + 30.0 < t < OFF_T + 150.0
    assert abs(found.happened - OFF_T) <= 45.0
    assert not found.sure


def test_a_thicker_steak_s_bend_is_dated_further_back() -> None:
    def happened(thickness_mm: float) -> float:
        watch = BendWatch()
        look: _Look = lambda trace: watch.see(trace, PULL_C, thickness_mm, None)  # noqa: E731
        return _told(look, _pulled, 700.0)[0][1].happened

    assert happened(40.0) < happened(32.0) < happened(25.0)


def test_a_rise_that_does_not_bend_is_no_off() -> None:
    assert _bending(lambda t: 40.0 + 3.0 * t / 60.0) == []
    assert _bending(lambda t: 45.0 + 1.6 * t / 60.0) == []


def test_far_from_the_pull_a_bend_is_no_off() -> None:
    assert _bending(lambda t: _pulled(t) - 10.0) == []


def test_a_bend_after_a_flip_waits_until_it_has_peaked() -> None:
    told = _bending(_pulled, flipped_t=OFF_T - 20.0)
    assert told
    assert told[0][0] >= OFF_T - 20.0 + BEND_AFTER_FLIP_S


def test_a_bend_that_a_flip_made_is_no_off_when_the_rise_comes_back() -> None:
    def bent(t: float) -> float:
        """Steep, nearly level for two minutes, steep again: a probe off the middle, flipped."""
        level_s = min(max(0.0, t - OFF_T), 120.0)
        return 52.5 + 3.0 * (t - OFF_T - 0.9 * level_s) / 60.0

    assert _bending(bent, flipped_t=OFF_T - 60.0) == []
    assert _bending(bent), "without the flip this must look like off, or the test shows nothing"


@pytest.mark.parametrize("by_c", [-2.5, -6.0, -11.0, 4.0])
def test_a_slip_is_no_bend(by_c: float) -> None:
    assert _bending(lambda t: _rising(t) + (by_c if t > OFF_T else 0.0)) == []


def test_a_slow_rise_of_a_coarse_probe_does_not_bend_by_its_steps() -> None:
    """1.8 C/min in steps of 1 F, the usual coarse probe."""
    step = 5.0 / 9.0
    assert _bending(lambda t: round((42.0 + 1.8 * t / 60.0) / step) * step) == []

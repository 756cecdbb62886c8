"""On is proposed from the first rise of a cold steak, and dated back by conduction's lag."""

from __future__ import annotations

from collections.abc import Iterator
from math import erfc, exp, sqrt

import pytest

from pullcall.proposals.found import Found
from pullcall.proposals.going_on import going_on
from tests.proposals.cases import Curve, traced

ON_T = 60.0
#: Measured diffusivities of beef lie about 1.3e-7 m2/s, from memory; effective ones are higher.
DIFFUSIVITIES = (1.3e-7, 2.0e-7, 2.6e-7)


def _heated(depth_mm: float, diffusivity: float, step_c: float = 90.0) -> Curve:
    """A half-space whose face is held ``step_c`` hotter from ``ON_T`` on.

    T = step * erfc(x / (2 sqrt(a t))): Carslaw and Jaeger, Conduction of Heat in Solids, 2.5.
    """

    def curve(t: float) -> float:
        if t <= ON_T:
            return 5.0
        depth = depth_mm / 1000.0
        return 5.0 + step_c * erfc(depth / (2.0 * sqrt(diffusivity * (t - ON_T))))

    return curve


def _first(curve: Curve, end_t: float, step_s: float = 1.0) -> tuple[float, Found] | None:
    """The first finding, looking every two seconds."""
    for end in _ends(end_t):
        found = going_on(traced(curve, end, step_s))
        if found is not None:
            return end, found
    return None


def _ends(end_t: float) -> Iterator[float]:
    return (2.0 * k for k in range(10, round(end_t / 2.0) + 1))


@pytest.mark.parametrize("diffusivity", DIFFUSIVITIES)
@pytest.mark.parametrize("depth_mm", [11.0, 14.0, 17.0])
def test_the_closed_form_of_conduction_is_dated_within_a_quarter_minute(
    depth_mm: float, diffusivity: float
) -> None:
    """With a step of 90 C the levels are passed at x = 1.918 and 1.618 (x = d / (2 sqrt(a t)),
    erfc tables), so on lies 3.47 times their distance before the second: 3.4 is 2 % short of
    at most two minutes. Noise of 0.1 C on rises of 0.6 C makes up the rest."""
    found = _first(_heated(depth_mm, diffusivity), 420.0)
    assert found is not None
    assert found[1].happened == pytest.approx(ON_T, abs=15.0)


def test_a_hotter_fire_and_a_slower_probe_give_the_same_moment() -> None:
    for step_c, step_s in ((70.0, 1.0), (130.0, 1.0), (90.0, 2.0), (90.0, 0.5)):
        found = _first(_heated(14.0, 2.0e-7, step_c), 300.0, step_s)
        assert found is not None
        assert found[1].happened == pytest.approx(ON_T, abs=15.0)


def test_it_is_proposed_only_once_the_core_rose_and_before_four_minutes() -> None:
    found = _first(_heated(15.0, 2.0e-7), 420.0)
    assert found is not None
    assert ON_T + 30.0 < found[0] < ON_T + 240.0


@pytest.mark.parametrize("depth_mm", [0.0, 1.0])
def test_a_jump_is_no_steak(depth_mm: float) -> None:
    assert _first(_heated(depth_mm, 2.0e-7, 200.0), 200.0) is None


@pytest.mark.parametrize("c_per_min", [0.3, 0.6, 1.0, 1.5, 3.0, 6.0])
def test_a_steak_that_warms_steadily_on_a_table_is_not_on(c_per_min: float) -> None:
    assert _first(lambda t: 5.0 + c_per_min * max(0.0, t - ON_T) / 60.0, 400.0) is None
    assert _first(lambda t: 5.0 + c_per_min * t / 60.0, 400.0) is None


@pytest.mark.parametrize("constant_s", [4.0, 10.0, 30.0, 60.0, 120.0, 240.0])
def test_a_probe_in_a_warm_hand_or_in_air_is_not_on(constant_s: float) -> None:
    """Newton's law of cooling: such a rise slows down from its first moment."""

    def warmed(t: float) -> float:
        return 10.0 + 22.0 * (1.0 - exp(-max(0.0, t - ON_T) / constant_s))

    assert _first(warmed, 400.0) is None


@pytest.mark.parametrize("constant_s", [5.0, 20.0])
def test_a_probe_pushed_into_a_cold_steak_is_not_on(constant_s: float) -> None:
    assert _first(lambda t: 5.0 + 17.0 * exp(-t / constant_s), 300.0) is None


def test_a_probe_pushed_in_before_does_not_hide_that_it_goes_on() -> None:
    heated = _heated(14.0, 2.0e-7)
    found = _first(lambda t: heated(t) + 17.0 * exp(-t / 5.0), 300.0)
    assert found is not None
    assert found[1].happened == pytest.approx(ON_T, abs=15.0)


def test_a_steak_warm_as_a_summer_day_is_not_dated() -> None:
    heated = _heated(14.0, 2.0e-7)
    assert _first(lambda t: heated(t) + 30.0, 300.0) is None


def test_without_readings_from_before_nothing_is_dated() -> None:
    heated = _heated(14.0, 2.0e-7)
    assert _first(lambda t: heated(t + ON_T + 45.0), 200.0) is None

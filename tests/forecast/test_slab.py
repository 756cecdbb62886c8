"""The slab's limits and symmetries, and the lag of the probe's tip."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from pullcall.forecast.slab import CELLS, Course, Regime, Tip, place_weights

Array = NDArray[np.float64]

#: A 32 mm ribeye: diffusivity over thickness squared, 1/s.
RATE = 1.3e-7 / 0.032**2


def one(value: float) -> Array:
    return np.array([value])


def uneven(cells: int = CELLS) -> Array:
    """A start without symmetry, (1, cells)."""
    share = (np.arange(cells) + 0.5) / cells
    return np.asarray(5.0 + 60.0 * share**2 + 8.0 * np.sin(7.0 * share))[None, :]


def on_the_grate(start: Array, bottom_c: float = 200.0, drift: float = 0.0) -> Course:
    regime = Regime(one(5.0), one(1.1), one(RATE), start.shape[1])
    return Course(regime, start, one(bottom_c), one(60.0), one(drift))


def in_a_medium(start_c: float, medium_c: float, drift: float = 0.0) -> Course:
    """A slab so thin that it always has its surroundings' temperature."""
    regime = Regime(one(np.inf), one(0.0), one(1e6))
    return Course(regime, np.full((1, CELLS), start_c), one(medium_c), one(0.0), one(drift))


def test_the_start_is_given_back() -> None:
    assert on_the_grate(uneven()).cells_c(0.0) == pytest.approx(uneven(), abs=1e-9)


@pytest.mark.parametrize("seconds", [1.0, 60.0, 600.0, 3600.0])
def test_no_convection_conserves_the_mean(seconds: float) -> None:
    regime = Regime(one(0.0), one(0.0), one(RATE))
    rest = Course(regime, uneven(), one(400.0), one(-40.0), one(0.0))
    assert rest.cells_c(seconds).mean() == pytest.approx(uneven().mean(), rel=1e-9)


def test_a_slab_at_the_level_of_both_faces_stays() -> None:
    regime = Regime(one(5.0), one(1.1), one(RATE))
    still = Course(regime, np.full((1, CELLS), 60.0), one(60.0), one(60.0), one(0.0))
    assert still.cells_c(500.0) == pytest.approx(np.full((1, CELLS), 60.0), abs=1e-9)


def test_turning_the_kitchen_upside_down_turns_the_slab() -> None:
    upside_down = Regime(one(1.1), one(5.0), one(RATE))
    turned = Course(upside_down, uneven()[:, ::-1], one(60.0), one(200.0), one(0.0))
    upright = on_the_grate(uneven()).cells_c(300.0)
    assert turned.cells_c(300.0)[:, ::-1] == pytest.approx(upright, abs=1e-9)


@pytest.mark.parametrize("drift", [0.0, -0.1])
def test_two_legs_equal_one(drift: float) -> None:
    whole = on_the_grate(uneven(), drift=drift)
    later = on_the_grate(whole.cells_c(240.0), 200.0 + 240.0 * drift, drift)
    assert later.cells_c(130.0) == pytest.approx(whole.cells_c(370.0), abs=1e-8)


def test_a_drifting_level_equals_many_small_steps() -> None:
    stepped, step = uneven(), 0.5
    for i in range(1200):
        stepped = on_the_grate(stepped, 150.0 + 0.1 * (i + 0.5) * step).cells_c(step)
    drifting = on_the_grate(uneven(), 150.0, drift=0.1).cells_c(600.0)
    assert drifting == pytest.approx(stepped, abs=1e-4)
    assert np.abs(drifting - on_the_grate(uneven(), 150.0).cells_c(600.0)).max() > 5.0


def test_slabs_side_by_side_do_not_touch() -> None:
    biots, rates = np.array([2.0, 5.0, np.inf]), RATE * np.array([0.7, 1.0, 1.4])
    levels, drifts = np.array([150.0, 200.0, 90.0]), np.array([0.0, 0.1, -0.05])
    waits = np.array([100.0, 200.0, 300.0])
    start = np.concatenate([uneven(), 0.5 * uneven(), uneven()[:, ::-1]])
    together = Course(Regime(biots, biots / 3, rates), start, levels, levels / 3, drifts)
    for row in range(3):
        this = slice(row, row + 1)
        regime = Regime(biots[this], biots[this] / 3, rates[this])
        alone = Course(regime, start[this], levels[this], levels[this] / 3, drifts[this])
        assert together.cells_c(waits)[row] == pytest.approx(alone.cells_c(waits[row])[0], abs=1e-9)


@pytest.mark.parametrize("flip_s", [30.0, 100.0, 240.0, 599.0])
def test_equal_faces_make_the_mid_plane_blind_to_the_flip(flip_s: float) -> None:
    """Exact by symmetry; Thiffeault, "The mathematics of burger flipping", Physica D 439 (2022)."""
    regime = Regime(one(5.0), one(5.0), one(RATE), 41)
    middle = place_weights(one(0.5), 41)
    first = Course(regime, uneven(41), one(200.0), one(60.0), one(0.0))
    flipped = first.cells_c(flip_s)[:, ::-1]
    second = Course(regime, flipped, one(200.0), one(60.0), one(0.0)).cells_c(600.0 - flip_s)
    unflipped = first.cells_c(600.0)
    assert (middle * second).sum() == pytest.approx((middle * unflipped).sum(), abs=1e-6)
    assert np.abs(second - unflipped).max() > 1.0


def test_unequal_faces_make_the_mid_plane_see_the_flip() -> None:
    middle = place_weights(one(0.5))
    first = on_the_grate(uneven())
    second = on_the_grate(first.cells_c(240.0)[:, ::-1])
    difference = (middle * (second.cells_c(360.0) - first.cells_c(600.0))).sum()
    assert abs(difference) > 0.1


@pytest.mark.parametrize("start_c", [25.0, 200.0])
def test_a_probe_of_one_second_shows_199_c_after_5_2_seconds(start_c: float) -> None:
    """Incropera, Example 5.1: 25 to 199 C in gas of 200 C takes 5.2 s (ln 175 = 5.165)."""
    tip = Tip(in_a_medium(start_c, 200.0), place_weights(one(0.5)), one(1.0), one(25.0))
    seconds = float(brentq(lambda at: tip.at(at)[0] - 199.0, 0.1, 20.0))
    assert seconds == pytest.approx(np.log(175.0), abs=1e-3)
    assert round(seconds, 1) == 5.2


def test_a_probe_trails_a_steady_rise_by_its_time_constant() -> None:
    """The steady error of a first-order instrument under a ramp: elementary."""
    tip = Tip(in_a_medium(40.0, 40.0, drift=0.05), place_weights(one(0.3)), one(8.0), one(40.0))
    assert tip.at(0.0)[0] == pytest.approx(40.0, abs=1e-6)
    assert tip.at(200.0)[0] == pytest.approx(40.0 + 0.05 * (200.0 - 8.0), abs=1e-6)


def test_a_tip_starts_at_what_it_shows_and_ends_at_its_place() -> None:
    course, place = on_the_grate(uneven()), place_weights(one(0.4))
    tip = Tip(course, place, one(6.0), one(31.0))
    assert tip.at(0.0)[0] == pytest.approx(31.0, abs=1e-9)
    assert tip.at(1e6)[0] == pytest.approx((place * course.cells_c(1e6)).sum(), abs=1e-6)


def lagging_step_by_step(course: Course, place: Array, lag_s: float, shows_c: float) -> float:
    """What the tip shows after 300 s by small exact steps of its own equation."""
    step, shown = 0.1, shows_c
    kept = np.exp(-step / lag_s)
    for i in range(3000):
        meat_c = float((place * course.cells_c((i + 0.5) * step)).sum())
        shown = meat_c + (shown - meat_c) * kept
    return float(shown)


@pytest.mark.parametrize("mode", [None, 0, 3])
def test_a_tip_obeys_its_own_equation_even_where_its_lag_meets_a_mode(mode: int | None) -> None:
    course, place = on_the_grate(uneven(), 150.0, drift=0.1), place_weights(one(0.4))
    lag_s = 8.0 if mode is None else float(1.0 / course.regime.decay[0, mode])
    tip = Tip(course, place, one(lag_s), one(12.0))
    by_steps = lagging_step_by_step(course, place, lag_s, 12.0)
    assert tip.at(300.0)[0] == pytest.approx(by_steps, abs=0.02)


def test_a_tip_over_many_moments_equals_it_at_each() -> None:
    regime = Regime(np.array([5.0, 2.0]), np.array([1.1, 0.0]), np.array([RATE, 2 * RATE]))
    start = np.concatenate([uneven(), uneven()[:, ::-1]])
    drifts = np.array([0.1, 0.0])
    course = Course(regime, start, np.array([200.0, 90.0]), np.array([60.0, 25.0]), drifts)
    places, lags = place_weights(np.array([0.4, 0.6])), np.array([6.0, 9.0])
    tip, seconds = Tip(course, places, lags, np.array([20.0, 40.0])), np.linspace(0.0, 900.0, 7)
    assert tip.over(seconds).shape == (2, 7)
    for column, at in enumerate(seconds):
        assert tip.over(seconds)[:, column] == pytest.approx(tip.at(float(at)), abs=1e-9)


@pytest.mark.parametrize("depth", [0.0, 0.01, 0.031, 0.5, 0.77, 0.99, 1.0])
def test_weights_read_a_straight_profile_exactly_up_to_the_faces(depth: float) -> None:
    straight = 10.0 + 50.0 * (np.arange(CELLS) + 0.5) / CELLS
    weights = place_weights(one(depth))
    assert weights.sum() == pytest.approx(1.0, abs=1e-12)
    assert (weights * straight).sum() == pytest.approx(10.0 + 50.0 * depth, abs=1e-9)

"""The slab against the closed forms of conduction: plane wall, semi-infinite wall, insulated rest.

The books count the plane wall by its half thickness, the slab by its whole one: a wall of Biot
number Bi and half thickness 1 is here a slab of Biot number 2 Bi whose rate is a quarter.
"""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from pullcall.forecast.slab import Course, Regime, place_weights
from tests.closed_forms import FULL_SERIES, ONE_TERM

Array = NDArray[np.float64]

#: erfc(e) - exp(2eb + b^2) erfc(e + b), computed: e = x / (2 sqrt(alpha t)),
#: b = h sqrt(alpha t) / k, share of the step that has arrived.
CONVECTING_SEMI_INFINITE = [
    (0.0, 1.0, 0.57242),
    (0.5, 0.5, 0.14650),
    (0.5, 1.0, 0.22905),
    (1.0, 2.0, 0.09145),
]

#: Elementary Fourier series of an insulated wall whose excess starts as x^2: Fo, centre's share.
PARABOLIC_REST = [(0.02, 0.0400), (0.05, 0.0995), (0.1, 0.1842), (0.2, 0.2771), (5.0, 1 / 3)]


def one(value: float) -> Array:
    return np.array([value])


def between_equal_faces(
    biot: float, rate: float, start_c: float, around_c: float, cells: int
) -> Course:
    regime = Regime(one(biot), one(biot), one(rate), cells)
    return Course(regime, np.full((1, cells), start_c), one(around_c), one(around_c), one(0.0))


def at_depth(course: Course, seconds: float, depth: float) -> float:
    cells_c = course.cells_c(seconds)
    return float((place_weights(one(depth), cells_c.shape[1]) * cells_c).sum())


def moment(unmet: Callable[[float], float], latest: float) -> float:
    return float(brentq(unmet, latest * 1e-6, latest, xtol=latest * 1e-9))


@pytest.mark.parametrize(("biot", "zeta", "amplitude"), ONE_TERM)
def test_the_slowest_mode_is_that_of_the_one_term_table(
    biot: float, zeta: float, amplitude: float
) -> None:
    wall = between_equal_faces(2 * biot, 0.25, start_c=1.0, around_c=0.0, cells=201)
    at_3, at_4 = at_depth(wall, 3.0, 0.5), at_depth(wall, 4.0, 0.5)
    assert np.sqrt(np.log(at_3 / at_4)) == pytest.approx(zeta, abs=1e-4)
    assert at_3 * (at_3 / at_4) ** 3 == pytest.approx(amplitude, abs=1e-4)


@pytest.mark.parametrize(("biot", "fourier", "centre", "surface"), FULL_SERIES)
def test_centre_and_surface_follow_the_full_series(
    biot: float, fourier: float, centre: float, surface: float
) -> None:
    wall = between_equal_faces(2 * biot, 0.25, start_c=1.0, around_c=0.0, cells=100)
    assert at_depth(wall, fourier, 0.5) == pytest.approx(centre, abs=1e-3)
    assert at_depth(wall, fourier, 0.0) == pytest.approx(surface, abs=1e-3)
    assert at_depth(wall, fourier, 1.0) == pytest.approx(surface, abs=1e-3)


@pytest.mark.parametrize(("biot", "fourier", "centre", "surface"), FULL_SERIES)
def test_an_insulated_face_is_the_mid_plane_of_a_wall_twice_as_thick(
    biot: float, fourier: float, centre: float, surface: float
) -> None:
    regime = Regime(one(biot), one(0.0), one(1.0), 100)
    half = Course(regime, np.ones((1, 100)), one(0.0), one(99.0), one(0.0))
    assert at_depth(half, fourier, 1.0) == pytest.approx(centre, abs=1e-3)
    assert at_depth(half, fourier, 0.0) == pytest.approx(surface, abs=1e-3)


def test_steaks_of_2_cm_cool_to_2_c_at_the_surface_in_93_minutes() -> None:
    """Cengel, Introduction to Thermodynamics and Heat Transfer, 2008, problem 11-44: 5590 s."""
    thick, conductivity, diffusivity, film = 0.02, 0.45, 0.91e-7, 9.0
    biot, rate = film * thick / conductivity, diffusivity / thick**2
    steak = between_equal_faces(biot, rate, start_c=25.0, around_c=-11.0, cells=100)
    seconds = moment(lambda at: at_depth(steak, at, 0.0) - 2.0, 20000.0)
    assert seconds == pytest.approx(5590.0, rel=0.003)
    # The full series of the same wall, computed: 5586.4 s.
    assert seconds == pytest.approx(5586.4, rel=0.0005)


def test_meat_slabs_of_23_cm_freeze_through_in_22_hours() -> None:
    """Computed series; Cengel, Heat and Mass Transfer 5e, problem 4-52: its 22.1 h from memory."""
    thick, conductivity, diffusivity, film = 0.23, 0.47, 0.13e-6, 20.0
    biot, rate = film * thick / conductivity, diffusivity / thick**2
    meat = between_equal_faces(biot, rate, start_c=7.0, around_c=-30.0, cells=100)
    seconds = moment(lambda at: at_depth(meat, at, 0.5) + 18.0, 2e5)
    assert seconds / 3600 == pytest.approx(22.10, rel=0.005)
    assert at_depth(meat, seconds, 0.0) == pytest.approx(-26.90, rel=0.005)


def test_frost_goes_down_68_cm_in_60_days_under_a_fixed_surface() -> None:
    """Incropera, Fundamentals of Heat and Mass Transfer, Example 5.6: 0.68 m."""
    thick, diffusivity = 6.0, 0.138e-6
    regime = Regime(one(np.inf), one(0.0), one(diffusivity / thick**2), 200)
    soil = Course(regime, np.full((1, 200), 20.0), one(-15.0), one(20.0), one(0.0))
    metres = thick * float(brentq(lambda depth: at_depth(soil, 60 * 86400.0, depth), 0.0, 0.5))
    assert metres == pytest.approx(0.68, rel=0.01)


@pytest.mark.parametrize(("e", "b", "arrived"), CONVECTING_SEMI_INFINITE)
def test_a_thick_slab_follows_the_convecting_semi_infinite_wall(
    e: float, b: float, arrived: float
) -> None:
    thick, cells = 12.0, 200
    regime = Regime(one(b * thick), one(0.0), one(1 / thick**2), cells)
    wall = Course(regime, np.zeros((1, cells)), one(1.0), one(0.0), one(0.0))
    assert at_depth(wall, 1.0, 2 * e / thick) == pytest.approx(arrived, abs=5e-4)


@pytest.mark.parametrize(("fourier", "share"), PARABOLIC_REST)
def test_an_insulated_rest_brings_the_surface_excess_to_the_centre(
    fourier: float, share: float
) -> None:
    cells = 201
    edges = np.linspace(-1.0, 1.0, cells + 1)
    excess = (np.diff(edges**3) / 3 / np.diff(edges))[None, :]
    regime = Regime(one(0.0), one(0.0), one(0.25), cells)
    rest = Course(regime, excess, one(25.0), one(25.0), one(0.0))
    assert at_depth(rest, fourier, 0.5) == pytest.approx(share, abs=1e-4)
    assert rest.cells_c(fourier).mean() == pytest.approx(1 / 3, abs=1e-8)


@pytest.mark.parametrize(("bottom", "top"), [(5.0, 1.0), (21.6, 1.44), (np.inf, 2.0)])
def test_the_end_is_that_of_three_resistances_in_series(bottom: float, top: float) -> None:
    """Thermal resistances of a wall between two fluids: Incropera, section 3.1 (from memory)."""
    regime = Regime(one(bottom), one(top), one(1.0), 100)
    wall = Course(regime, np.full((1, 100), 5.0), one(200.0), one(60.0), one(0.0))
    flux = (200.0 - 60.0) / (1 / bottom + 1.0 + 1 / top)
    assert at_depth(wall, 100.0, 0.0) == pytest.approx(200.0 - flux / bottom, abs=1e-6)
    assert at_depth(wall, 100.0, 0.5) == pytest.approx(200.0 - flux * (1 / bottom + 0.5), abs=1e-6)
    assert at_depth(wall, 100.0, 1.0) == pytest.approx(60.0 + flux / top, abs=1e-6)


def test_sixteen_cells_meet_the_full_series_within_0_3_percent_of_the_excess() -> None:
    for biot, fourier, centre, _ in FULL_SERIES:
        wall = between_equal_faces(2 * biot, 0.25, start_c=1.0, around_c=0.0, cells=16)
        assert at_depth(wall, fourier, 0.5) == pytest.approx(centre, abs=0.003)

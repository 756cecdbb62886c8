"""The slab solver against closed forms and published worked examples."""

from itertools import pairwise
from math import erfc, exp, inf, log, sin, sqrt

import numpy as np
import pytest

from pullcall.simulators.conduction import INSULATED, Face, Slab, joined
from tests.closed_forms import FULL_SERIES, ONE_TERM


def unit_slab(biot: float, cells: int) -> tuple[Slab, Face]:
    """A slab of half thickness 1, unit properties, from 1 to 0: seconds are Fourier numbers."""
    return Slab(2.0, 1.0, 1.0, 1.0, cells), Face(biot, 0.0)


# Source: Cengel, Heat and Mass Transfer, Table 4-2 (same as Incropera, Table 5.1).
@pytest.mark.parametrize(
    ("biot", "zeta", "c1"),
    ONE_TERM,
)
def test_the_slowest_mode_of_a_plane_wall_is_the_tabulated_one(
    biot: float, zeta: float, c1: float
) -> None:
    slab, face = unit_slab(biot, 201)
    centre = {}
    for step in range(1, 401):
        slab.step(0.005, face, face)
        centre[step] = slab.core_c()
    decay = log(centre[200] / centre[400])  # per unit of Fourier number
    assert sqrt(decay) == pytest.approx(zeta, abs=1e-4)
    assert centre[400] * exp(2.0 * decay) == pytest.approx(c1, abs=1e-4)


# Source: the full series with 60 terms, computed with scipy; not a publication.
@pytest.mark.parametrize(
    ("biot", "fourier", "centre", "surface"),
    FULL_SERIES,
)
def test_centre_and_surface_follow_the_full_series(
    biot: float, fourier: float, centre: float, surface: float
) -> None:
    slab, face = unit_slab(biot, 100)
    for _ in range(round(fourier / 0.001)):
        slab.step(0.001, face, face)
    assert slab.core_c() == pytest.approx(centre, abs=1e-3)
    assert slab.surface_c(0) == pytest.approx(surface, abs=1e-3)
    assert slab.surface_c(1) == pytest.approx(surface, abs=1e-3)


def test_steaks_in_a_freezer_reach_two_degrees_after_93_minutes() -> None:
    # Source: Cengel, Introduction to Thermodynamics and Heat Transfer, 2008, problem 11-44.
    slab, air, t = Slab(0.02, 0.45, 0.45 / 0.91e-7, 25.0), Face(9.0, -11.0), 0.0
    while slab.surface_c(0) > 2.0 or t == 0.0:
        slab.step(2.0, air, air)
        t += 2.0
    assert t == pytest.approx(5590.0, rel=0.003)


def test_meat_slabs_freeze_through_after_22_hours() -> None:
    # Source: the series, computed (Cengel 5e problem 4-52; the book's own 22.1 h from memory).
    slab, air, t = Slab(0.23, 0.47, 0.47 / 0.13e-6, 7.0), Face(20.0, -30.0), 0.0
    while slab.core_c() > -18.0:
        slab.step(30.0, air, air)
        t += 30.0
    assert t / 3600.0 == pytest.approx(22.10, rel=0.005)
    assert slab.surface_c(0) == pytest.approx(-26.90, rel=0.005)


def test_frost_goes_as_deep_into_soil_as_published() -> None:
    # Source: Incropera, Example 5.6: 0 C at 0.68 m after 60 days, surface held at -15 C.
    soil, day = Slab(6.0, 0.52, 0.52 / 0.138e-6, 20.0, 300), 86_400.0
    for _ in range(60 * 8):
        soil.step(day / 8.0, Face(inf, -15.0), INSULATED)
    depths = np.linspace(0.0, 2.0, 2001)
    frozen = max(depth for depth in depths if soil.at(float(depth)) <= 0.0)
    assert frozen == pytest.approx(0.68, rel=0.01)


# Source: erfc(e) - exp(2 e b + b^2) erfc(e + b), Incropera eq. 5.63; figures computed.
@pytest.mark.parametrize(
    ("depth", "strength", "theta"),
    [(0.0, 1.0, 0.57242), (0.5, 0.5, 0.14650), (0.5, 1.0, 0.22905), (1.0, 2.0, 0.09145)],
)
def test_a_deep_wall_warms_by_convection_as_the_closed_form_says(
    depth: float, strength: float, theta: float
) -> None:
    # One second at diffusivity 1: depth is x / (2 sqrt(alpha t)), strength is h sqrt(alpha t) / k.
    assert theta == pytest.approx(
        erfc(depth) - exp(2 * depth * strength + strength**2) * erfc(depth + strength), abs=1e-5
    )
    wall = Slab(12.0, 1.0, 1.0, 0.0, 480)
    for _ in range(400):
        wall.step(1.0 / 400.0, Face(strength, 1.0), INSULATED)
    assert wall.at(2.0 * depth) == pytest.approx(theta, abs=1e-3)


@pytest.mark.parametrize("flips", [(), (200.0,), (60.0, 61.0, 300.0), (15.0, 450.0, 451.0)])
def test_the_middle_does_not_feel_flips_when_both_faces_pass_heat_alike(
    flips: tuple[float, ...],
) -> None:
    # Exact: the mid-plane feels only the symmetric part of the boundary, which a flip keeps.
    slab, never = Slab(0.032, 0.45, 3.5e6, 5.0), Slab(0.032, 0.45, 3.5e6, 5.0)
    hot, air = Face(70.0, 200.0), Face(70.0, 25.0)
    for second in range(600):
        if float(second) in flips:
            slab.flip()
        slab.step(1.0, hot, air)
        never.step(1.0, hot, air)
        assert slab.core_c() == pytest.approx(never.core_c(), abs=1e-6)


# Source: elementary Fourier series of an insulated slab that starts as a parabola.
@pytest.mark.parametrize(
    ("fourier", "share"), [(0.02, 0.0400), (0.05, 0.0995), (0.1, 0.1842), (0.2, 0.2771), (9, 1 / 3)]
)
def test_an_insulated_rest_brings_the_surface_excess_to_the_centre(
    fourier: float, share: float
) -> None:
    cells = 201
    centres = (np.arange(cells) + 0.5) * 2.0 / cells - 1.0
    slab = Slab(2.0, 1.0, 1.0, centres**2 + (2.0 / cells) ** 2 / 12.0, cells)
    for _ in range(200):
        slab.step(fourier / 200.0, INSULATED, INSULATED)
    assert slab.core_c() == pytest.approx(share, abs=1e-4)
    assert slab.mean_c() == pytest.approx(1.0 / 3.0, abs=1e-9)


def test_a_dry_slab_flipped_pulled_and_rested_agrees_with_a_second_implementation() -> None:
    # Source: a second implementation, computed with scipy; not a publication.
    slab = Slab(0.032, 0.45, 0.45 / 1.3e-7, 5.0, 201)
    hot, above, rest = Face(70.0, 200.0), Face(15.0, 60.0), Face(15.0, 25.0)
    track = [5.0]
    while track[-1] < 54.0:
        slab.step(0.5, hot, above)
        track.append(slab.core_c())
        if len(track) == 481:
            slab.flip()
    assert track[480] == pytest.approx(7.878, abs=0.02)
    slope = (track[-1] - track[-2]) / 0.5
    pull = (len(track) - 1) * 0.5 - (track[-1] - 54.0) / slope
    assert pull == pytest.approx(1081.16, abs=0.3)
    assert slope == pytest.approx(0.04598, rel=0.01)
    resting = [slab.core_c()]
    for _ in range(1200):
        slab.step(0.5, rest, rest)
        resting.append(slab.core_c())
    assert max(resting) == pytest.approx(64.286, abs=0.02)


@pytest.mark.parametrize("dt", [0.01, 1.0, 100.0, 1e5])
@pytest.mark.parametrize("cells", [3, 40, 161])
@pytest.mark.parametrize("h", [5.0, 5e4, inf])
def test_no_step_or_cell_size_makes_it_leave_the_range_of_its_surroundings(
    dt: float, cells: int, h: float
) -> None:
    slab = Slab(0.032, 0.45, 3.5e6, 5.0, cells)
    # The method's amplification (1 + (1 - 2 g) z) / (1 - g z)^2 is never below -0.2072 for z < 0:
    # a step far too long may overshoot once by that share, and what is over dies away.
    swing = 0.2072 * 95.0
    for _ in range(50):
        slab.step(dt, Face(h, 100.0), INSULATED)
        assert np.all(slab.cells_c > 5.0 - swing)
        assert np.all(slab.cells_c < 100.0 + swing)
    assert np.all(slab.cells_c > 5.0 - 1e-6)
    assert np.all(slab.cells_c < 100.0 + 1e-6)


def test_heat_that_enters_is_heat_that_is_kept() -> None:
    slab, kept, entered = Slab(0.03, 0.45, 3.5e6, 5.0, 81), [5.0], 0.0
    fluxes = []
    for _ in range(2000):
        slab.step(0.2, Face(80.0, 150.0), Face(10.0, 20.0))
        fluxes.append(slab.flux_in(0) + slab.flux_in(1))
        kept.append(slab.mean_c())
    entered = sum((a + b) / 2.0 * 0.2 for a, b in pairwise(fluxes)) / (3.5e6 * 0.03)
    assert kept[-1] - kept[1] == pytest.approx(entered, rel=1e-4)


def test_steady_flux_through_a_wall_is_ohms_law() -> None:
    wall = Slab(0.1, 0.5, 1e5, 0.0, 31)
    for _ in range(400):
        wall.step(1e4, Face(10.0, 80.0), Face(25.0, 20.0))
    flux = 60.0 / (1 / 10.0 + 0.1 / 0.5 + 1 / 25.0)
    assert wall.flux_in(0) == pytest.approx(flux, rel=1e-9)
    assert wall.surface_c(0) == pytest.approx(80.0 - flux / 10.0, rel=1e-9)
    assert wall.at(0.05) == pytest.approx(80.0 - flux * (0.1 + 0.1), rel=1e-9)


def test_parallel_paths_join_into_one_face_with_the_same_flux() -> None:
    one, other = Face(30.0, 200.0), Face(10.0, 40.0)
    both = joined(one, other)
    assert both.h * (both.celsius - 70.0) == pytest.approx(30 * 130 + 10 * -30)
    assert joined(INSULATED, INSULATED) == INSULATED


def test_the_eigenvalues_of_the_table_solve_its_own_equation() -> None:
    # Guards the table against a slip in copying it:
    # zeta tan(zeta) = Bi and C1 = 4 sin z / (2 z + sin 2 z).
    zeta = 0.8603
    assert zeta * sin(zeta) / sqrt(1 - sin(zeta) ** 2) == pytest.approx(1.0, abs=3e-4)
    assert 4 * sin(zeta) / (2 * zeta + sin(2 * zeta)) == pytest.approx(1.1191, abs=1e-4)

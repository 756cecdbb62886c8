"""Evaporation and crust at one face."""

import pytest

from pullcall.simulators.conduction import Face, Slab
from pullcall.simulators.surface import (
    CRUST_LIMIT,
    LATENT_HEAT,
    Exposure,
    Surface,
    saturation_pressure,
)


# Source: saturated steam tables, from memory.
@pytest.mark.parametrize(
    ("celsius", "pascal"), [(20.0, 2339.0), (50.0, 12_350.0), (80.0, 47_390.0), (100.0, 101_325.0)]
)
def test_vapour_pressure_agrees_with_steam_tables(celsius: float, pascal: float) -> None:
    assert saturation_pressure(celsius) == pytest.approx(pascal, rel=0.005)


def test_a_wet_face_in_moving_air_settles_at_the_wet_bulb() -> None:
    # Source: psychrometric chart, from memory: dry bulb 30 C at 50 % (2.12 kPa), wet bulb 22.0 C.
    # The latent heat used is that of hot water, 6 % less than at 22 C: half a kelvin.
    slab, surface = Slab(0.002, 0.5, 4e6, 25.0), Surface()
    air = Exposure(Face(50.0, 30.0), 50.0, humidity=2_120.0)
    for _ in range(2000):
        face = surface.meet(slab, 0, air)
        slab.step(1.0, face, face)
    assert slab.surface_c(0) == pytest.approx(22.0, abs=0.7)


@pytest.mark.parametrize("grate_c", [260.0, 300.0, 500.0])
def test_a_wet_face_over_any_fire_stays_near_boiling(grate_c: float) -> None:
    # Common practice, no source: a contest grate is over 500 F (260 C), the wet face near 100 C.
    slab, surface = Slab(0.032, 0.7, 3.5e6, 15.0), Surface()
    fire = Exposure(Face(180.0, grate_c), 6.0)
    for _ in range(1200):
        slab.step(0.5, surface.meet(slab, 0, fire), Face(0.0))
        surface.dry(slab.surface_c(0), fire, 0.5)
        assert slab.surface_c(0) < 101.0
    assert slab.surface_c(0) > 88.0


def test_drying_makes_a_crust_that_never_passes_its_limit_and_slows_the_heat() -> None:
    slab, surface, fire = Slab(0.032, 0.7, 3.5e6, 90.0), Surface(), Exposure(Face(180.0, 400.0), 6)
    bare = surface.meet(slab, 0, fire)
    for _ in range(7200):
        slab.step(0.5, surface.meet(slab, 0, fire), Face(0.0))
        surface.dry(slab.surface_c(0), fire, 0.5)
        assert surface.crust_m <= CRUST_LIMIT
    assert surface.crust_m > 0.5e-3
    crusted = surface.meet(slab, 0, fire)
    assert crusted.h * (crusted.celsius - 90.0) < bare.h * (bare.celsius - 90.0)


def test_evaporated_water_is_the_heat_taken_over_the_latent_heat() -> None:
    surface, air = Surface(), Exposure(Face(0.0), 15.0)
    sink = surface.evaporation(60.0, air)
    surface.dry(60.0, air, 10.0)
    assert surface.evaporated == pytest.approx(sink.h * (60.0 - sink.celsius) * 10 / LATENT_HEAT)


def test_the_evaporation_face_is_the_tangent_of_its_own_heat() -> None:
    surface, air = Surface(), Exposure(Face(0.0), 15.0)

    def heat(celsius: float) -> float:
        face = surface.evaporation(celsius, air)
        return face.h * (celsius - face.celsius)

    slope = (heat(70.01) - heat(69.99)) / 0.02
    assert surface.evaporation(70.0, air).h == pytest.approx(slope, rel=1e-5)


def test_a_covered_face_loses_no_water() -> None:
    surface = Surface()
    surface.dry(95.0, Exposure(Face(50.0, 200.0), 0.0), 100.0)
    assert surface.evaporated == 0.0


def test_basting_softens_the_crust_but_never_below_nothing() -> None:
    surface = Surface()
    surface.crust_m = 3e-4
    surface.wet(0.1)
    assert 0.0 < surface.crust_m < 3e-4
    surface.wet(10.0)
    assert surface.crust_m == 0.0

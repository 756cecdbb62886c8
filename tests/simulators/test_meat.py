"""Component properties and mixing rules against figures computed elsewhere."""

import pytest

from pullcall.simulators.meat import (
    ASH,
    FAT,
    LEAN_SIRLOIN,
    PROTEIN,
    RIBEYE,
    WATER,
    Component,
    Composition,
    Mixing,
    conductivity,
    density,
    diffusivity,
    polynomial,
    specific_heat,
)


# Source: CoolProp, INCOMP::FoodWater, FoodProtein, FoodFat and FoodAsh (Choi and Okos 1986).
@pytest.mark.parametrize(
    ("component", "celsius", "k", "rho", "cp"),
    [
        (WATER, 20.0, 0.60366, 995.740, 4129.27),
        (PROTEIN, 20.0, 0.20164, 1319.532, 2031.85),
        (FAT, 20.0, 0.17512, 917.239, 2011.75),
        (ASH, 20.0, 0.35648, 2418.187, 1128.92),
        (WATER, 60.0, 0.65271, 983.842, 4143.15),
        (PROTEIN, 60.0, 0.24077, 1298.796, 2076.01),
        (FAT, 60.0, 0.16351, 900.536, 2055.32),
        (ASH, 60.0, 0.40322, 2406.962, 1192.72),
    ],
)
def test_components_agree_with_coolprop(
    component: Component, celsius: float, k: float, rho: float, cp: float
) -> None:
    assert polynomial(component.conductivity, celsius) == pytest.approx(k, abs=1e-5)
    assert polynomial(component.density, celsius) == pytest.approx(rho, abs=1e-3)
    assert polynomial(component.specific_heat, celsius) == pytest.approx(cp, abs=0.01)


def test_lean_sirloin_mixes_to_the_known_figures() -> None:
    # Source: the components above mixed for lean sirloin (composition from memory).
    assert density(LEAN_SIRLOIN, 20.0) == pytest.approx(1054.0, rel=1e-3)
    assert 3545.0 <= specific_heat(LEAN_SIRLOIN, 20.0) <= 3580.0
    assert conductivity(LEAN_SIRLOIN, 20.0, Mixing.SERIES) == pytest.approx(0.41, abs=0.005)
    assert conductivity(LEAN_SIRLOIN, 20.0, Mixing.PARALLEL) == pytest.approx(0.51, abs=0.005)


@pytest.mark.parametrize("meat", [LEAN_SIRLOIN, RIBEYE])
def test_the_geometric_mean_lies_between_the_two_bounds(meat: Composition) -> None:
    series, middle, parallel = (
        conductivity(meat, 40.0, rule)
        for rule in (Mixing.SERIES, Mixing.GEOMETRIC, Mixing.PARALLEL)
    )
    assert series < middle < parallel


def test_one_component_alone_keeps_its_own_properties_under_every_rule() -> None:
    water = Composition(1.0, 0.0, 0.0, 0.0)
    for rule in Mixing:
        assert conductivity(water, 20.0, rule) == pytest.approx(0.60366, abs=1e-5)
    assert density(water, 20.0) == pytest.approx(995.740, abs=1e-3)


@pytest.mark.parametrize("celsius", [40.0, 65.0])
def test_diffusivity_lies_where_beef_was_measured(celsius: float) -> None:
    # Source: ASHRAE thermal diffusivity table as reproduced by Engineering ToolBox: beef round
    # 1.33e-7, chuck 1.23e-7 m2/s at 40-65 C; accepted range 1.1-1.5e-7.
    assert 1.1e-7 < diffusivity(LEAN_SIRLOIN, celsius) < 1.5e-7
    assert 1.1e-7 < diffusivity(RIBEYE, celsius) < 1.5e-7


def test_a_composition_that_does_not_add_up_is_refused() -> None:
    with pytest.raises(ValueError, match="add up to one"):
        Composition(0.7, 0.2, 0.3, 0.01)

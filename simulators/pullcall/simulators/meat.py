"""Thermal properties of meat from its composition, by Choi and Okos (1986).

Component equations as reproduced in the ASHRAE Handbook - Refrigeration, chapter "Thermal
properties of foods", valid from 0 C (no ice) to 150 C. Polynomials run in ascending powers.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Component:
    """One component's polynomials in Celsius: W/(m K), kg/m3 and J/(kg K)."""

    conductivity: tuple[float, float, float]
    density: tuple[float, float, float]
    specific_heat: tuple[float, float, float]


WATER = Component(
    (0.57109, 1.7625e-3, -6.7036e-6),
    (997.18, 3.1439e-3, -3.7574e-3),
    (4128.9, -9.0864e-2, 5.4731e-3),
)
PROTEIN = Component(
    (0.17881, 1.1958e-3, -2.7178e-6), (1329.9, -0.51840, 0.0), (2008.2, 1.2089, -1.3129e-3)
)
FAT = Component(
    (0.18071, -2.7604e-4, -1.7749e-7), (925.59, -0.41757, 0.0), (1984.2, 1.4733, -4.8008e-3)
)
ASH = Component(
    (0.32962, 1.4011e-3, -2.9069e-6), (2423.8, -0.28063, 0.0), (1092.6, 1.8896, -3.6817e-3)
)
COMPONENTS = (WATER, PROTEIN, FAT, ASH)


class Mixing(StrEnum):
    """How heat is thought to pass through the components.

    Parallel and series bound what any structure can give; the geometric mean lies between.
    """

    PARALLEL = "parallel"
    SERIES = "series"
    GEOMETRIC = "geometric"


@dataclass(frozen=True, slots=True)
class Composition:
    """Mass fractions; they add up to one."""

    water: float
    protein: float
    fat: float
    ash: float

    def __post_init__(self) -> None:
        if abs(sum(self.fractions()) - 1.0) > 0.02:
            raise ValueError("the mass fractions of a composition must add up to one")

    def fractions(self) -> tuple[float, ...]:
        """The mass fractions in the order of ``COMPONENTS``."""
        return (self.water, self.protein, self.fat, self.ash)


#: Compositions from memory: lean sirloin, and a well-marbled ribeye.
LEAN_SIRLOIN = Composition(0.717, 0.212, 0.044, 0.011)
RIBEYE = Composition(0.630, 0.195, 0.165, 0.010)


def polynomial(coefficients: tuple[float, float, float], celsius: float) -> float:
    """Evaluate c0 + c1 T + c2 T^2."""
    c0, c1, c2 = coefficients
    return c0 + celsius * (c1 + celsius * c2)


def density(meat: Composition, celsius: float) -> float:
    """Density without pores, kg/m3: the components' volumes add up."""
    return sum(meat.fractions()) / _specific_volume(meat, celsius)


def specific_heat(meat: Composition, celsius: float) -> float:
    """Specific heat, J/(kg K): the components' heats add up."""
    parts = zip(meat.fractions(), COMPONENTS, strict=True)
    total = sum(share * polynomial(c.specific_heat, celsius) for share, c in parts)
    return total / sum(meat.fractions())


def conductivity(meat: Composition, celsius: float, mixing: Mixing = Mixing.GEOMETRIC) -> float:
    """Conductivity, W/(m K), by volume fractions under a mixing rule."""
    volume = _specific_volume(meat, celsius)
    product, along, across = 1.0, 0.0, 0.0
    for share, component in zip(meat.fractions(), COMPONENTS, strict=True):
        part = share / polynomial(component.density, celsius) / volume
        k = polynomial(component.conductivity, celsius)
        product, along, across = product * k**part, along + part * k, across + part / k
    return {Mixing.PARALLEL: along, Mixing.SERIES: 1.0 / across, Mixing.GEOMETRIC: product}[mixing]


def diffusivity(meat: Composition, celsius: float, mixing: Mixing = Mixing.GEOMETRIC) -> float:
    """Thermal diffusivity, m2/s."""
    capacity = density(meat, celsius) * specific_heat(meat, celsius)
    return conductivity(meat, celsius, mixing) / capacity


def _specific_volume(meat: Composition, celsius: float) -> float:
    """Volume of the components in one kilogram of composition, m3."""
    parts = zip(meat.fractions(), COMPONENTS, strict=True)
    return sum(share / polynomial(c.density, celsius) for share, c in parts)

"""One face of a steak: it boils its water away, dries to a crust, and cools by evaporating.

The conducting slab ends at the wet front. Outside it lies a crust without mass, which resists
heat going in and vapour coming out. That front stays near 100 C while it has water, so it, and
not the grate, sets the gradient in the meat.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from pullcall.simulators.conduction import Face, Slab, joined

ATMOSPHERE = 101_325.0  # Pa
VAPOUR_GAS = 461.5  # J/(kg K), gas constant of water vapour
LATENT_HEAT = 2.3e6  # J/kg, of water between 60 and 100 C (steam tables, from memory)
#: J/(m3 K), air's heat capacity times Lewis^(2/3), Chilton-Colburn analogy, air at 80 C.
LEWIS_CAPACITY = 0.98 * 1008.0 * 0.91
CRUST_CONDUCTIVITY = 0.12  # W/(m K), dried meat; assumed
CRUST_VAPOUR = 2.5e-5  # m2/s, vapour through the crust's pores; that in still air, an upper bound
CRUST_WATER = 640.0  # kg/m3 of water that must leave to make crust; assumed, as in raw ribeye
CRUST_LIMIT = 1.5e-3  # m, thickness at which cracks and fat bring juice; assumed
JUICE_SUPPLY = 1.6e-3  # kg/(m2 s) of juice that reaches the front by itself; assumed
REWETTING = 0.15  # share of juice in excess of evaporation that softens the crust; assumed
STEEP = 0.95  # share of an atmosphere beyond which evaporation is continued as a line


@dataclass(frozen=True, slots=True)
class Exposure:
    """What a face is exposed to: ``heat`` passes the crust, vapour leaves by ``airing``.

    ``airing`` is the convection coefficient that carries vapour away, W/(m2 K), 0 for a face
    that is covered; ``humidity`` is the water vapour in that air, Pa.
    """

    heat: Face
    airing: float
    humidity: float = 1_300.0


def saturation_pressure(celsius: float) -> float:
    """Water's vapour pressure, Pa, 1 to 100 C (Antoine's equation, constants from memory)."""
    return float(133.322 * 10.0 ** (8.07131 - 1730.63 / (233.426 + celsius)))


class Surface:
    """The crust of one face and the water it has lost."""

    def __init__(self) -> None:
        self.crust_m = 0.0
        self.evaporated = 0.0  # kg/m2 so far

    def meet(self, slab: Slab, face: int, exposure: Exposure) -> Face:
        """Return the boundary of the wet front, linear around its own heat balance."""
        heat = exposure.heat
        through = Face(heat.h / (1.0 + heat.h * self.crust_m / CRUST_CONDUCTIVITY), heat.celsius)
        front, boundary = slab.surface_c(face), through
        for _ in range(3):
            boundary = joined(through, self.evaporation(front, exposure))
            front = slab.surface_meeting(face, boundary)
        return boundary

    def dry(self, front_c: float, exposure: Exposure, dt: float) -> None:
        """Count the water lost in ``dt`` seconds and grow or soften the crust."""
        sink = self.evaporation(front_c, exposure)
        rate = max(0.0, sink.h * (front_c - sink.celsius)) / LATENT_HEAT
        self.evaporated += rate * dt
        excess = rate - JUICE_SUPPLY
        growth = excess * (1.0 - self.crust_m / CRUST_LIMIT) if excess > 0 else excess * REWETTING
        self.crust_m = max(0.0, self.crust_m + growth * dt / CRUST_WATER)

    def wet(self, kilograms: float) -> None:
        """Put ``kilograms`` of liquid per square metre on the face: it softens the crust."""
        self.crust_m = max(0.0, self.crust_m - kilograms / CRUST_WATER)

    def evaporation(self, front_c: float, exposure: Exposure) -> Face:
        """Return the tangent, at ``front_c``, of the heat that evaporating takes, as a face.

        Stefan flow: mass = g P/(R T) ln((P - p_air)/(P - p_front)), which rises without bound
        at 100 C: boiling. Above ``STEEP`` of an atmosphere its tangent is kept.
        """
        if exposure.airing == 0.0:
            return Face(0.0)
        passage = 1.0 / (LEWIS_CAPACITY / exposure.airing + self.crust_m / CRUST_VAPOUR)
        at = min(front_c, _STEEP_C)
        pressure = saturation_pressure(at)
        gap = ATMOSPHERE - pressure
        scale = LATENT_HEAT * passage * ATMOSPHERE / (VAPOUR_GAS * (at + 273.15))
        heat = scale * log((ATMOSPHERE - exposure.humidity) / gap)
        slope = scale * pressure * 1730.63 * log(10.0) / (233.426 + at) ** 2 / gap
        slope -= heat / (at + 273.15)
        return Face(slope, at - heat / slope)


_STEEP_C = 1730.63 / (8.07131 - log(STEEP * ATMOSPHERE / 133.322, 10.0)) - 233.426

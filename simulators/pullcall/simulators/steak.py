"""One steak from the board to the box: conduction, two drying faces, flips and the rest."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto
from math import exp

from pullcall.simulators import meat
from pullcall.simulators.conduction import Face, Slab
from pullcall.simulators.surface import Exposure, Surface

#: Contact at 250-650 W/(m2 K) on a third of the face (frying of hamburgers, J. Food Eng.), and
#: coals radiating about 8 kW/m2 (three quarters of 11 kW/m2, J. Home Econ. Japan 55(9), 2004)
#: on the rest, with hot gas, all as one coefficient to the grate's temperature, W/(m2 K).
GRATE_H = 180.0
GRATE_AIRING = 6.0  # W/(m2 K), vapour's way out between the bars; assumed
ABOVE_H_OPEN, ABOVE_H_CLOSED = 14.0, 28.0  # W/(m2 K), air and radiation above; assumed
#: How far the air above a steak is on the way from outside to the grate's temperature; assumed.
ABOVE_SHARE_OPEN, ABOVE_SHARE_CLOSED = 0.22, 0.70
REST_H, REST_AIRING = 18.0, 14.0  # W/(m2 K), light breeze with, without radiation; textbook range
BOARD_H, BOARD_WARMTH = 8.0, 12.0  # W/(m2 K) and kelvin above the air, wood; assumed
BOX_H, BOX_WARMTH = 5.0, 18.0  # W/(m2 K) and kelvin above the air, a closed box; assumed
#: How much a cold steak chills the bars, K, and how fast they recover, s; assumed.
CHILL_ON, CHILL_FLIP, CHILL_TURN, RECOVERY = 55.0, 35.0, 22.0, 30.0
BASTE_KG = 0.12  # kg/m2 of liquid put on; assumed
WATER_HEAT = 4_186.0  # J/(kg K), steam tables, from memory
#: Juice that moves, fat that renders and heat through the edge carry what conduction alone does
#: not: with measured diffusivities a 32 mm slab needs about 70 % longer than cooks report
#: (common practice, no source). Conductivity is multiplied by this; it is tuned, not measured.
TRANSPORT = 1.75


@dataclass(frozen=True, slots=True)
class Cut:
    """A steak before it meets the fire."""

    thickness_mm: float = 32.0
    start_c: float = 5.0
    composition: meat.Composition = meat.RIBEYE
    transport: float = TRANSPORT


class Place(Enum):
    """Where a steak lies."""

    WAITING = auto()
    GRATE = auto()
    RACK = auto()
    BOARD = auto()
    BOX = auto()


class Steak:
    """The physics of one steak. Face 0 of the slab is always the lower one."""

    def __init__(self, cut: Cut, cells: int = 41) -> None:
        self.cut = cut
        mean_c = 40.0  # the properties' temperature: between raw and pulled
        capacity = meat.density(cut.composition, mean_c) * meat.specific_heat(
            cut.composition, mean_c
        )
        conductivity = cut.transport * meat.conductivity(cut.composition, mean_c)
        self.slab = Slab(cut.thickness_mm / 1000.0, conductivity, capacity, cut.start_c, cells)
        self.surfaces = [Surface(), Surface()]
        self.place = Place.WAITING
        self._chill = 0.0
        self._turned_over = False

    def put_on(self) -> None:
        """Lay the steak on the grate: the bars are chilled."""
        self.place, self._chill = Place.GRATE, CHILL_ON

    def turn(self) -> None:
        """Turn it a quarter, onto bars that were half covered."""
        if self.place is Place.GRATE:
            self._chill += CHILL_TURN

    def flip(self) -> None:
        """Turn it over."""
        self.slab.flip()
        self.surfaces.reverse()
        self._turned_over = not self._turned_over
        if self.place is Place.GRATE:
            self._chill += CHILL_FLIP

    def baste(self, liquid_c: float = 60.0) -> None:
        """Brush warm liquid on the upper face: it cools it and softens its crust."""
        self.surfaces[1].wet(BASTE_KG)
        cell_heat = self.slab.heat_capacity * self.slab.thickness_m / len(self.slab.cells_c)
        liquid_heat = BASTE_KG * WATER_HEAT
        share = liquid_heat / (liquid_heat + cell_heat)
        self.slab.cells_c[-1] += share * (liquid_c - self.slab.cells_c[-1])

    def take_off(self, rest_on: Place = Place.RACK) -> None:
        """Lay it down to rest on a rack or a board."""
        self.place = rest_on

    def box(self) -> None:
        """Close it into its box."""
        self.place = Place.BOX

    def step(self, dt: float, grate_c: float, air_c: float, lid_open: bool) -> None:
        """Advance by ``dt`` seconds where it lies."""
        if self.place is Place.WAITING:
            return
        self._chill *= exp(-dt / RECOVERY)
        exposures = self._exposures(grate_c, air_c, lid_open)
        faces = [s.meet(self.slab, i, exposures[i]) for i, s in enumerate(self.surfaces)]
        self.slab.step(dt, faces[0], faces[1])
        for i, surface in enumerate(self.surfaces):
            surface.dry(self.slab.surface_c(i), exposures[i], dt)

    def at(self, depth_mm: float) -> float:
        """Celsius at a depth below the face that was up when it went on."""
        depth = depth_mm / 1000.0
        return self.slab.at(depth if self._turned_over else self.slab.thickness_m - depth)

    def core_c(self) -> float:
        """Celsius at mid-plane."""
        return self.slab.core_c()

    def _exposures(self, grate_c: float, air_c: float, lid_open: bool) -> tuple[Exposure, Exposure]:
        if self.place is Place.GRATE:
            share = ABOVE_SHARE_OPEN if lid_open else ABOVE_SHARE_CLOSED
            h = ABOVE_H_OPEN if lid_open else ABOVE_H_CLOSED
            # A cold fire chills nothing below the air around it.
            bars_c = grate_c - self._chill * max(0.0, min(1.0, (grate_c - air_c) / 200.0))
            above = Face(h, air_c + share * (grate_c - air_c))
            return Exposure(Face(GRATE_H, bars_c), GRATE_AIRING), Exposure(above, h)
        if self.place is Place.BOX:
            shut = Exposure(Face(BOX_H, air_c + BOX_WARMTH), 0.0)
            return shut, shut
        still = Exposure(Face(REST_H, air_c), REST_AIRING)
        if self.place is Place.BOARD:
            return Exposure(Face(BOARD_H, air_c + BOARD_WARMTH), 0.0), still
        return still, still

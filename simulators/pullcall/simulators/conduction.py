"""Heat conduction through a slab: finite volumes, one matrix, any boundary on either face.

The scheme is the two-stage, second-order, L-stable diagonally implicit Runge-Kutta method
(Alexander, SIAM J. Numer. Anal. 14 (1977) 1006), so no cell size or step makes it swing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: The stage coefficient that makes the method L-stable and second order, 1 - 1/sqrt(2).
GAMMA = 1.0 - 0.5**0.5


@dataclass(frozen=True, slots=True)
class Face:
    """What a face meets: a transfer coefficient ``h`` W/(m2 K) to something at ``celsius``.

    ``h`` 0 insulates; ``h`` infinity holds the face at ``celsius``. Contact, convection and
    linearised radiation or evaporation all take this form.
    """

    h: float
    celsius: float = 0.0


INSULATED = Face(0.0)


def joined(*faces: Face) -> Face:
    """Return the one face that stands for several at once (parallel paths; finite ``h``)."""
    h = sum(face.h for face in faces)
    if h == 0.0:
        return INSULATED
    return Face(h, sum(face.h * face.celsius for face in faces) / h)


class Slab:
    """A slab of uniform material, stepped in time. Face 0 is at depth 0.

    thickness_m: m; conductivity: W/(m K); heat_capacity: volumetric, J/(m3 K);
    start_c: Celsius, one value or one per cell; cells: an odd number puts a cell at mid-plane.
    """

    def __init__(
        self,
        thickness_m: float,
        conductivity: float,
        heat_capacity: float,
        start_c: float | Array,
        cells: int = 41,
    ) -> None:
        self.thickness_m = thickness_m
        self.conductivity = conductivity
        self.heat_capacity = heat_capacity
        self._dx = thickness_m / cells
        self.cells_c: Array = np.full(cells, 0.0) + start_c
        self.faces: tuple[Face, Face] = (INSULATED, INSULATED)
        self._half_cell = 2.0 * conductivity / self._dx
        self._steps: dict[float, _Step] = {}

    def step(self, dt: float, face0: Face, face1: Face) -> None:
        """Advance by ``dt`` seconds with both faces as given."""
        self.faces = (face0, face1)
        step = self._steps.get(dt)
        if step is None:
            step = self._steps[dt] = _Step(self, dt)
        scale = dt / (self.heat_capacity * self._dx)
        a0, a1 = (self._conductance(face) * scale for face in self.faces)
        self.cells_c = step.advance(self.cells_c, a0, a1, a0 * face0.celsius, a1 * face1.celsius)

    def flip(self) -> None:
        """Turn the slab over: what was at face 0 is at face 1."""
        self.cells_c = self.cells_c[::-1].copy()
        self.faces = self.faces[::-1]

    def surface_c(self, face: int) -> float:
        """Celsius of face 0 or 1 under the boundary of the last step."""
        return self.surface_meeting(face, self.faces[face])

    def surface_meeting(self, face: int, meets: Face) -> float:
        """Celsius that face 0 or 1 would have if it met this, the cells being as they are."""
        cell = float(self.cells_c[-face])
        return cell + (meets.celsius - cell) * self._conductance(meets) / self._half_cell

    def flux_in(self, face: int) -> float:
        """Heat flowing into face 0 or 1 under the last boundary, W/m2."""
        meets = self.faces[face]
        return self._conductance(meets) * (meets.celsius - float(self.cells_c[-face]))

    def at(self, depth_m: float) -> float:
        """Celsius at a depth from face 0, linear between cell centres and faces."""
        place = depth_m / self._dx - 0.5
        last = len(self.cells_c) - 1
        if place < 0.0:
            return self._between(self.surface_c(0), self.cells_c[0], 1.0 + 2.0 * place)
        if place >= last:
            return self._between(self.cells_c[last], self.surface_c(1), 2.0 * (place - last))
        low = int(place)
        return self._between(self.cells_c[low], self.cells_c[low + 1], place - low)

    def core_c(self) -> float:
        """Celsius at mid-plane."""
        return self.at(self.thickness_m / 2.0)

    def mean_c(self) -> float:
        """Celsius averaged over the thickness: the slab's heat, over its capacity."""
        return float(self.cells_c.mean())

    def _conductance(self, face: Face) -> float:
        """From the cell centre through the face, W/(m2 K)."""
        return self._half_cell / (1.0 + self._half_cell / face.h) if face.h else 0.0

    @staticmethod
    def _between(low: float, high: float, share: float) -> float:
        return float(low + (high - low) * share)


class _Step:
    """The implicit step of one length for an insulated slab, corrected for its two faces.

    The inverse for insulated faces is computed once; faces change only the two corner entries
    of the matrix, so each solve is one product and a 2 x 2 system (Woodbury's identity).
    """

    def __init__(self, slab: Slab, dt: float) -> None:
        cells = len(slab.cells_c)
        fourier = slab.conductivity * dt / (slab.heat_capacity * slab._dx**2)
        laplace = np.diag(np.full(cells, -2.0)) + np.eye(cells, k=1) + np.eye(cells, k=-1)
        laplace[0, 0] = laplace[-1, -1] = -1.0
        implicit: Array = np.eye(cells) - GAMMA * fourier * laplace
        self._inverse = np.linalg.inv(implicit)
        self._first, self._last = self._inverse[:, 0].copy(), self._inverse[:, -1].copy()
        self._corner, self._cross = float(self._first[0]), float(self._first[-1])

    def advance(self, start: Array, a0: float, a1: float, b0: float, b1: float) -> Array:
        """Advance where each face adds ``b - a * cell`` kelvin per step to its cell."""
        middle = self._solve(start, a0, a1, b0, b1)
        return self._solve(start + (middle - start) * ((1.0 - GAMMA) / GAMMA), a0, a1, b0, b1)

    def _solve(self, right: Array, a0: float, a1: float, b0: float, b1: float) -> Array:
        bare = self._inverse @ right
        # Unknown corner cells y0, y1 solve y = bare + column * GAMMA * (b - a * y).
        g0, g1, p, q = GAMMA * a0, GAMMA * a1, self._corner, self._cross
        r0 = float(bare[0]) + GAMMA * (p * b0 + q * b1)
        r1 = float(bare[-1]) + GAMMA * (q * b0 + p * b1)
        m00, m01, m10, m11 = 1.0 + p * g0, q * g1, q * g0, 1.0 + p * g1
        det = m00 * m11 - m01 * m10
        y0, y1 = (r0 * m11 - r1 * m01) / det, (r1 * m00 - r0 * m10) / det
        from_first = (GAMMA * b0 - g0 * y0) * self._first
        solved: Array = bare + from_first + (GAMMA * b1 - g1 * y1) * self._last
        return solved

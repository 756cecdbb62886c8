"""One-dimensional conduction in many slabs at once, solved exactly in time by their modes.

A slab of thickness L is cut into equal cells; heat enters through two faces by convection, so the
cells obey a linear system whose modes decay at fixed rates. Between two events of a cook a
temperature is then a sum of exponentials: no time step, no instability, no horizon that ends.

Arrays have one row per slab (M of them) and one column per cell (n) or mode (n). Temperatures are
Celsius, times seconds, cell 0 lies at the bottom face.
"""

from __future__ import annotations

from typing import Self

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
#: Numbers of slabs: which rows, in which order.
Rows = NDArray[np.intp]
#: Which slabs.
Mask = NDArray[np.bool_]

#: Enough for a steak: the closed forms of the plane wall are met within 0.3 % of the excess.
CELLS = 16
#: A mode whose rate meets the probe's own is moved aside by this share: the limit is smooth.
_APART = 1e-3
#: Slabs whose future is worked out at once: half a megabyte stays in a processor's cache.
_AT_ONCE = 50


class Unchanging:
    """Never changed once made, so that a copy may share it."""

    def __deepcopy__(self, memo: dict[int, object]) -> Self:
        return self


class Regime(Unchanging):
    """Slabs between two convecting faces: their modes and how the faces feed them.

    :param biot_bottom: h L / k of the bottom face, (M,), full thickness L; inf fixes the surface.
    :param biot_top: the same of the top face, (M,); 0 insulates.
    :param rate: diffusivity / L^2, 1/s, (M,).
    """

    def __init__(
        self, biot_bottom: Array, biot_top: Array, rate: Array, cells: int = CELLS
    ) -> None:
        bottom, top = _into_first_cell(biot_bottom, cells), _into_first_cell(biot_top, cells)
        matrix = np.zeros((len(rate), cells, cells))
        inner = np.arange(cells)
        matrix[:, inner, inner] = 2.0 * cells**2
        matrix[:, inner[1:], inner[:-1]] = matrix[:, inner[:-1], inner[1:]] = -(cells**2)
        matrix[:, 0, 0] = cells**2 + bottom
        matrix[:, -1, -1] = cells**2 + top
        decay, modes = np.linalg.eigh(matrix)
        feeds = (bottom[:, None] * modes[:, 0, :], top[:, None] * modes[:, -1, :])
        self._fill(np.maximum(decay, 1e-9), modes, feeds, rate)

    def _fill(self, decay: Array, modes: Array, feeds: tuple[Array, Array], rate: Array) -> None:
        self._unit_decay, self._unit_feeds, self.modes = decay, feeds, modes
        self.decay = decay * rate[:, None]
        self.bottom_feed, self.top_feed = (feed * rate[:, None] for feed in feeds)

    @property
    def cells(self) -> int:
        """Cells of each slab."""
        return int(self.modes.shape[1])

    def picked(self, rows: Rows, rate: Array) -> Regime:
        """The faces of the slabs ``rows`` on slabs of another ``rate``, without new modes."""
        other = object.__new__(Regime)
        bottom, top = self._unit_feeds
        feeds = (bottom[rows], top[rows])
        other._fill(self._unit_decay[rows], self.modes[rows], feeds, rate)
        return other


def _into_first_cell(biot: Array, cells: int) -> Array:
    """Conductance from the surroundings to the middle of the outer cell, over the cell's width."""
    with np.errstate(divide="ignore"):
        return cells / (1.0 / np.asarray(biot, float) + 0.5 / cells)


class Course(Unchanging):
    """How slabs go on from ``cells_c`` (M, n) in one regime, until something happens.

    :param bottom_c: level that the bottom face sees, (M,), moving by ``bottom_drift`` K/s, (M,).
    :param top_c: level that the top face sees, (M,).
    """

    def __init__(
        self, regime: Regime, cells_c: Array, bottom_c: Array, top_c: Array, bottom_drift: Array
    ) -> None:
        self.regime = regime
        decay = regime.decay
        pull = bottom_c[:, None] * regime.bottom_feed + top_c[:, None] * regime.top_feed
        self.ramp = bottom_drift[:, None] * regime.bottom_feed / decay
        self.end = pull / decay - self.ramp / decay
        self.excess = np.einsum("mij,mi->mj", regime.modes, cells_c) - self.end

    def cells_c(self, seconds: float | Array) -> Array:
        """Cell temperatures after ``seconds`` (one number, or one per slab), (M, n)."""
        after = np.broadcast_to(seconds, len(self.end))[:, None]
        modal = self.excess * np.exp(-self.regime.decay * after) + self.end + self.ramp * after
        return np.asarray(np.einsum("mij,mj->mi", self.regime.modes, modal))


class Tip(Unchanging):
    """What a probe with a first-order lag shows along a course.

    :param place: its weight on each cell, (M, n), from :func:`place_weights`.
    :param lag_s: its time constant, (M,).
    :param shows_c: what it shows at the course's start, (M,).
    """

    def __init__(self, course: Course, place: Array, lag_s: Array, shows_c: Array) -> None:
        decay = course.regime.decay
        here = np.einsum("mij,mi->mj", course.regime.modes, place)
        apart = 1.0 - decay * lag_s[:, None]
        apart = np.where(np.abs(apart) < _APART, _APART, apart)
        parts = here * course.excess / apart
        self._drift = (here * course.ramp).sum(1)
        self._end = (here * course.end).sum(1) - self._drift * lag_s
        own = shows_c - parts.sum(1) - self._end
        self._parts = np.concatenate([parts, own[:, None]], axis=1)
        # The rate belongs to the mode as it was moved, or the two terms would cancel.
        self._rates = np.concatenate([1.0 - apart, np.ones_like(apart[:, :1])], axis=1)
        self._rates /= lag_s[:, None]

    def at(self, seconds: float | Array) -> Array:
        """Shown temperatures after ``seconds`` (one number, or one per slab), (M,)."""
        after = np.maximum(np.broadcast_to(seconds, len(self._end)), 0.0)
        waning = (self._parts * np.exp(-self._rates * after[:, None])).sum(1)
        return np.asarray(waning + self._end + self._drift * after)

    def over(self, seconds: Array) -> Array:
        """Shown temperatures after each of K ``seconds``, (M, K)."""
        shown = np.empty((len(self._end), len(seconds)))
        for first in range(0, len(shown), _AT_ONCE):
            some = slice(first, first + _AT_ONCE)
            waning = self._rates[some, None, :] * -seconds[None, :, None]
            np.exp(waning, out=waning)
            shown[some] = np.einsum("mkj,mj->mk", waning, self._parts[some])
        return np.asarray(shown + self._end[:, None] + self._drift[:, None] * seconds[None, :])


def place_weights(depth: Array, cells: int = CELLS) -> Array:
    """Weights on the cells of points at ``depth`` (share of the thickness from the bottom), (M, n).

    Linear between the middles of cells, and on to the faces.
    """
    spot = np.clip(depth * cells - 0.5, -0.5, cells - 0.5)
    lower = np.clip(np.floor(spot).astype(int), 0, cells - 2)
    upper_share = spot - lower
    weights = np.zeros((len(depth), cells))
    rows = np.arange(len(depth))
    weights[rows, lower] = 1.0 - upper_share
    weights[rows, lower + 1] = upper_share
    return weights

"""Many possible versions of one steak, cooked side by side through what the cook did."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from pullcall.events import Normal
from pullcall.forecast.prior import FIRE, STEAK, Draws, Taught, draw
from pullcall.forecast.slab import Array, Course, Mask, Regime, Rows, Tip, place_weights

#: The tip lies within the meat, share of the thickness.
_DEEPEST = 0.46
#: No face flashes down further than this, C.
_FLASH_RANGE_C = (60.0, 130.0)
#: What readings on the grate say nothing of.
_OF_THE_REST = ("rest_gain", "rest_level", "board", "flash")
#: Modes are kept of so many steaks, 2 MB each: of two, and of two whose thickness was changed.
#: Those of earlier cooks are not needed again.
_REGIMES = 4


@dataclass(frozen=True, slots=True)
class _Meat:
    """Where every member stands at ``t``: cells, what the tip shows, which way up."""

    t: float
    cells_c: Array
    shows_c: Array
    flipped: Mask  # an unmarked flip may have happened to some of them


class Members:
    """M slabs with their own unknowns. Times are cook seconds, temperatures Celsius, arrays (M,).

    :param number: which steak of the cook, for its draws from the prior.
    :param thickness_m: the stated thickness.
    :param start_c: the core before it goes on.
    :param has_probe: without one the "tip" is the middle and shows at once.
    :param on_board: rests on a board rather than a rack.
    :param taught: what earlier cooks taught of the unknowns.
    """

    def __init__(
        self,
        number: int,
        thickness_m: float,
        start_c: float,
        has_probe: bool,
        on_board: bool,
        taught: Taught = (),
    ) -> None:
        draws = draw(number, taught)
        self.count = len(draws["depth"])
        self._draws = draws
        self._number, self._thickness_m, self._taught = number, thickness_m, taught
        self._rate, self.on, self.rest = _regimes(number, thickness_m, on_board, taught)
        depth = np.clip(draws["depth"], -_DEEPEST, _DEEPEST) if has_probe else np.zeros(self.count)
        self.depth = depth
        self._up, self._down = place_weights(0.5 + depth), place_weights(0.5 - depth)
        self._lag = draws["lag"] if has_probe else np.ones(self.count)
        level = np.full(self.count, start_c)
        cells = np.repeat(level[:, None], self.on.cells, axis=1)
        self._meat = _Meat(0.0, cells, level, np.zeros(self.count, bool))
        self.lid_is_open = False
        self._on_t: float | None = None
        self.is_resting = False
        self._course: Course | None = None
        self._tip: Tip | None = None

    @property
    def flipped(self) -> Mask:
        """Which members have been flipped an odd number of times, bool (M,)."""
        return self._meat.flipped

    def rest_on(self, on_board: bool) -> None:
        """Where it will rest."""
        _, _, self.rest = _regimes(self._number, self._thickness_m, on_board, self._taught)

    def put_on(self, t: float) -> None:
        """The steaks touch the grate."""
        self._meat = replace(self._meat, t=t)
        self._on_t = t
        self._go_on()

    def flip(self, t: float, which: Mask | None = None) -> None:
        """Turn over all members, or those of ``which``."""
        meat = self._at(t)
        over = np.ones(self.count, bool) if which is None else which
        cells = np.where(over[:, None], meat.cells_c[:, ::-1], meat.cells_c)
        self._meat = replace(meat, cells_c=cells, flipped=meat.flipped ^ over)
        self._go_on()

    def baste(self, t: float) -> None:
        """Cool liquid on the upper face."""
        meat = self._at(t)
        cells = meat.cells_c.copy()
        cells[:, -1] += self._draws["baste"]
        self._meat = replace(meat, cells_c=cells)
        self._go_on()

    def lid(self, t: float, is_open: bool) -> None:
        """The lid goes up or down."""
        self.lid_is_open = is_open
        if self._on_t is not None and not self.is_resting:
            self._meat = self._at(t)
            self._go_on()

    def take_off(self, t: float) -> None:
        """Off the grate: the faces flash down, the rest begins."""
        self._meat = _flashed(self._at(t), self._draws)
        self.is_resting = True
        self._go_on()

    def shows_c(self, t: float) -> Array:
        """What the tip shows at ``t``."""
        if self._tip is None:
            return self._meat.shows_c
        return self._tip.at(t - self._meat.t)

    def shows_over(self, times: Array) -> Array:
        """What the tip will show at each of K ``times`` if nothing more happens, (M, K)."""
        if self._tip is None:
            return np.repeat(self._meat.shows_c[:, None], len(times), axis=1)
        return self._tip.over(times - self._meat.t)

    def cells_c(self, t: float) -> Array:
        """The cells at ``t``, (M, n)."""
        return self._at(t).cells_c

    def at_depth(self, cells_c: Array, off_middle: float) -> Array:
        """The meat ``off_middle`` of the thickness from the middle, (M,)."""
        return np.asarray(cells_c @ place_weights(np.array([0.5 + off_middle]))[0])

    def believed(self, weights: Array) -> dict[str, Normal]:
        """Each unknown's mean and sd under ``weights``, (M,); of the logarithm where it is one."""
        found = {}
        for unknown in (*FIRE, *STEAK):
            drawn = self._draws[unknown.name]
            values = np.log(drawn) if unknown.is_log else drawn
            mean = float(weights @ values)
            sd = float(np.sqrt(weights @ (values - mean) ** 2))
            found[unknown.name] = Normal(mean, sd)
        return found

    def __deepcopy__(self, memo: dict[int, object]) -> Members:
        return self.ahead()  # whatever happens makes new arrays: none is ever changed in place

    def ahead(self) -> Members:
        """A copy that can be moved on without moving this one."""
        twin = object.__new__(Members)
        twin.__dict__.update(self.__dict__)
        return twin

    def resampled(self, rows: Rows, rested: Rows) -> Members:
        """Members ``rows`` of these, resting as the members ``rested`` would."""
        twin = self.ahead()
        own = {name: values[rows] for name, values in self._draws.items()}
        twin._draws = own | {name: self._draws[name][rested] for name in _OF_THE_REST}
        twin._rate, twin.depth, twin._lag = self._rate[rows], self.depth[rows], self._lag[rows]
        twin._up, twin._down = self._up[rows], self._down[rows]
        twin.count = len(rows)
        twin.on = self.on.picked(rows, twin._rate)
        twin.rest = self.rest.picked(rested, twin._rate)
        meat = self._meat
        twin._meat = _Meat(meat.t, meat.cells_c[rows], meat.shows_c[rows], meat.flipped[rows])
        if self._course is not None:
            twin._go_on()
        return twin

    def pulled(self, at: Array) -> tuple[Array, Members]:
        """What the tip shows as each member is pulled at its own time ``at``, (M,), and the rest.

        The members returned rest from time zero on.
        """
        assert self._course is not None and self._tip is not None
        since = np.maximum(at - self._meat.t, 0.0)
        twin = self.ahead()
        meat = replace(
            self._meat, t=0.0, cells_c=self._course.cells_c(since), shows_c=self._tip.at(since)
        )
        twin._meat, twin.is_resting = _flashed(meat, self._draws), True
        twin._go_on()
        return meat.shows_c, twin

    def _at(self, t: float) -> _Meat:
        """The meat moved on to ``t``."""
        if self._course is None or self._tip is None:
            return replace(self._meat, t=t)
        after = max(0.0, t - self._meat.t)
        return replace(
            self._meat,
            t=max(t, self._meat.t),
            cells_c=self._course.cells_c(after),
            shows_c=self._tip.at(after),
        )

    def _go_on(self) -> None:
        """Begin a new course from where the meat is."""
        regime = self.rest if self.is_resting else self.on
        self._course = self._course_of(regime, self._meat)
        self._tip = self._tip_of(self._course, self._meat)

    def _course_of(self, regime: Regime, meat: _Meat) -> Course:
        draws = self._draws
        if regime is self.rest:
            level = draws["rest_level"]
            return Course(regime, meat.cells_c, level, level, np.zeros(self.count))
        since_on = meat.t - (self._on_t or 0.0)
        hot = draws["hot_level"] + draws["hot_drift"] * since_on
        hot = hot + np.where(meat.flipped, draws["second_face"], 0.0)
        cool = draws["cool_level"] + (
            np.minimum(draws["lid_drop"], 0.0) if self.lid_is_open else 0.0
        )
        return Course(regime, meat.cells_c, hot, cool, draws["hot_drift"])

    def _tip_of(self, course: Course, meat: _Meat) -> Tip:
        place = np.where(meat.flipped[:, None], self._down, self._up)
        return Tip(course, place, self._lag, meat.shows_c)


@lru_cache(maxsize=_REGIMES)
def _regimes(
    number: int, thickness_m: float, on_board: bool, taught: Taught
) -> tuple[Array, Regime, Regime]:
    """Rates, 1/s, and the regimes on the grate and at rest; finding the modes is what costs."""
    draws = draw(number, taught)
    thickness = thickness_m * draws["thickness"]
    rate = draws["diffusivity"] / thickness**2
    under = draws["board"] if on_board else np.ones(len(rate))
    # Of the stated thickness, so that any member can rest as any other would.
    side = draws["rest_gain"] * thickness_m
    on = Regime(draws["hot_gain"] * thickness, draws["cool_gain"] * thickness, rate)
    return rate, on, Regime(side * under, side, rate)


def _flashed(meat: _Meat, draws: Draws) -> _Meat:
    """Surface water boils off as the steak leaves the grate: no cell stays above the flash."""
    most = np.clip(draws["flash"], *_FLASH_RANGE_C)
    return replace(meat, cells_c=np.minimum(meat.cells_c, most[:, None]))

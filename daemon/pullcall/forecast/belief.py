"""What is believed of one steak: members, their weights, and what they all miss.

Only updates change a belief; asking for a forecast does not (see outlook.py).
"""

from __future__ import annotations

import math

import numpy as np

from pullcall.events import Mark, MarkKind, Normal, PlannedMark, SteakSettings
from pullcall.forecast.members import Members
from pullcall.forecast.prior import MEMBERS, Taught
from pullcall.forecast.residual import Residual
from pullcall.forecast.slab import Array
from pullcall.forecast.spot import SPOT_SIGMA_C, DoubtedSpot, doubted, read_spot
from pullcall.forecast.surprise import Surprise
from pullcall.forecast.weighted import resample, weights_of

#: Readings err together, since the model does: each counts as this share of one.
SHARE_OF_A_READING = 0.4
#: Degrees of freedom of the likelihood: outliers cost little.
_FREEDOM = 4.0
#: What no model of a core explains, sd of a reading, C.
MODEL_SIGMA_C = 0.2
#: How much of the other steak's evidence about the shared fire is taken.
SHARE_OF_THE_OTHER = 0.1
#: The rise missed so far says little after off, K/s.
_RISE_AT_OFF = 0.01
#: A probe that moved shows another place: its level is open by this much, C.
_MOVED_C = 5.0
#: A probe in the meat is this far from what a spot would show, sd, C.
_PROBE_OFFSET_C = 0.8
#: Readings before on that tell the start temperature, and how few are too few.
_EARLY_KEPT, _EARLY_NEEDED, _EARLY_S = 60, 5, 30.0
#: A probe that shows this much else than the stated start lay in the air, K.
_FAR_FROM_STATED_C = 20.0
#: A probe silent for this long does not speak: a spot is then the best there is, s.
_SILENT_S = 20.0
#: Marks make the rise that is missed less sure, by this sd, K/s.
_LOOSENS = {MarkKind.FLIP: 0.003, MarkKind.TURN: 0.001, MarkKind.BASTE: 0.002}
#: A flip that was due this long ago and not marked may have happened all the same, s.
_FLIP_OVERDUE_S = 25.0
_SHUFFLE = np.random.default_rng(7).permutation(MEMBERS)


class Belief:
    """Follows one steak. Times are cook seconds, temperatures Celsius."""

    def __init__(
        self,
        number: int,
        settings: SteakSettings,
        plan: tuple[PlannedMark, ...],
        on_board: bool,
        taught: Taught = (),
    ) -> None:
        self.settings = settings
        self.plan = plan
        self.on_board = on_board
        self.on_t: float | None = None
        self.off_t: float | None = None
        self.changed_t = 0.0
        self.surprise = Surprise()
        self.offset_c = 0.0
        self.flip_assumed_t: float | None = None
        self._number, self._taught = number, taught
        self.last_reading_t: float | None = None
        self.spots = 0
        self.doubted_spot: DoubtedSpot | None = None
        self.highest_c = -math.inf
        self.own = self.told = np.zeros(MEMBERS)
        self._early: list[tuple[float, float]] = []
        self._late: list[float] = []
        self._events: list[Mark | tuple[float, float]] = []
        self._begin(has_probe=False)

    def read(self, t: float, celsius: float, sigma_c: float) -> None:
        """Take a reading whose own noise is ``sigma_c``."""
        if self.on_t is None:
            self._early = [*self._early[1 - _EARLY_KEPT :], (t, celsius)]
            return
        if not self.has_probe and self.off_t is None and self._speaks_steadily(t):
            self._begin(has_probe=True)
        if not self.has_probe:
            return
        self._assume_flip(t)
        self.residual.move(t)
        self.last_reading_t = t
        surprise = celsius - self.members.shows_c(t) - self.residual.level
        noise_var = sigma_c**2 + MODEL_SIGMA_C**2
        spread = self.residual.spread_of(noise_var)
        verdict = self.surprise.see(t, float(self.weights() @ surprise), math.sqrt(spread))
        if verdict.is_outlier:
            return
        if verdict.has_moved:
            self.residual.loosen(level_c=_MOVED_C)
            self.changed_t = t
            self.highest_c = -math.inf  # what it showed elsewhere was not this core
        self.residual.learn(surprise, noise_var)
        if not verdict.has_moved:
            self._weigh(surprise, spread)
        self.highest_c = max(self.highest_c, self.core_c(t))

    def spot(self, t: float, celsius: float) -> None:
        """Take a hand-held check of the middle; a probe that speaks is corrected by it."""
        if self.on_t is None:
            return
        self._assume_flip(t)
        if self.has_probe and t - (self.last_reading_t or -math.inf) < _SILENT_S:
            self._correct(t, celsius)
            return
        self._events.append((t, celsius))
        self._learn_spot(t, celsius)

    def _learn_spot(self, t: float, celsius: float) -> None:
        self.residual.move(t)
        found = read_spot(self.members, self.residual.level, t, celsius)
        missed = float(self.weights() @ found.near_surface)
        self.own = self.own + found.log_likelihood
        self.own = self.own - self.own.max()
        self.doubted_spot = doubted(celsius, float(self.weights() @ found.mistaken), missed)
        self.residual.learn(found.surprise, SPOT_SIGMA_C**2)
        self.last_reading_t = t
        self.spots += 1
        self.highest_c = max(self.highest_c, self.core_c(t))

    def mark(self, mark: Mark) -> None:
        """Take a mark of this steak or of the grill."""
        self._events.append(mark)
        if mark.mark is MarkKind.ON:
            self.on_t, self.off_t = mark.happened, None
            self._early = [r for r in self._early if r[0] > mark.happened - _EARLY_S]
            self._begin(has_probe=len(self._early) >= _EARLY_NEEDED)
        else:
            self._cook(mark)

    def set(self, settings: SteakSettings) -> None:
        """Take changed settings. Another thickness or start is another steak: learn it afresh."""
        before, self.settings = self.settings, settings
        same = (before.thickness_mm, before.start_c) == (settings.thickness_mm, settings.start_c)
        if not same and self.off_t is None:
            self._begin(self.has_probe)

    def rest_on(self, on_board: bool) -> None:
        """Where it will rest; once it rests, a change comes too late."""
        self.on_board = on_board
        if self.off_t is None:
            self.members.rest_on(on_board)

    @property
    def is_cooking(self) -> bool:
        """Whether it is on the grate."""
        return self.on_t is not None and self.off_t is None

    def weights(self) -> Array:
        """Weights of the members, (M,), with what the other steak taught of the fire."""
        return weights_of(self.own + SHARE_OF_THE_OTHER * self.told)

    def believed(self) -> dict[str, Normal]:
        """What is believed of each unknown of :mod:`pullcall.forecast.prior`, by name."""
        return self.members.believed(self.weights())

    def core_c(self, t: float) -> float:
        """The filtered core at the probe's place (without a probe: in the middle), C."""
        shown = self.members.shows_c(t) + self.residual.at(np.full(MEMBERS, t))
        return float(self.weights() @ shown)

    def _begin(self, has_probe: bool) -> None:
        """Start the members afresh and cook them through the marks so far."""
        self.has_probe = has_probe
        self.flip_assumed_t = None
        self.members = Members(
            self._number,
            self.settings.thickness_mm / 1000.0,
            self._start_c(),
            has_probe,
            self.on_board,
            self._taught,
        )
        self.residual = Residual(MEMBERS, self.on_t or 0.0, has_probe)
        self.own, self.told = np.zeros(MEMBERS), np.zeros(MEMBERS)
        self.highest_c = -math.inf
        self.last_reading_t, self.spots, self.doubted_spot = None, 0, None
        self.offset_c, self._offset_var = 0.0, _PROBE_OFFSET_C**2
        for event in self._events:
            if isinstance(event, Mark):
                self._cook(event)
            else:
                self._learn_spot(*event)

    def _start_c(self) -> float:
        """The core before on: as the probe showed it, unless it lay elsewhere, or as stated."""
        shown = [celsius for _, celsius in self._early]
        if len(shown) < _EARLY_NEEDED:
            return self.settings.start_c
        start_c = float(np.median(shown))
        return (
            start_c
            if abs(start_c - self.settings.start_c) < _FAR_FROM_STATED_C
            else (self.settings.start_c)
        )

    def _speaks_steadily(self, t: float) -> bool:
        """Whether a probe first heard after on has spoken often enough to be one."""
        self._late = [*[heard for heard in self._late if heard > t - _EARLY_S], t]
        return len(self._late) >= _EARLY_NEEDED

    @property
    def has_flipped(self) -> bool:
        """Whether a flip is marked."""
        return any(isinstance(e, Mark) and e.mark is MarkKind.FLIP for e in self._events)

    def _cook(self, mark: Mark) -> None:
        t, members = mark.happened, self.members
        if mark.mark is MarkKind.LID_OPEN or mark.mark is MarkKind.LID_CLOSE:
            members.lid(t, mark.mark is MarkKind.LID_OPEN)
        elif mark.mark is MarkKind.ON:
            members.put_on(t)
        elif mark.mark is MarkKind.FLIP:
            self._flip(t)
        elif mark.mark is MarkKind.BASTE:
            members.baste(t)
        elif mark.mark is MarkKind.OFF:
            self._take_off(t)
        if mark.mark in _LOOSENS:
            self.residual.move(t)
            self.residual.loosen(rise=_LOOSENS[mark.mark])
            self.changed_t = t

    def _flip(self, t: float) -> None:
        """A marked flip settles what was assumed: those not turned yet are turned now."""
        which = None
        if self.flip_assumed_t is not None:
            which, self.flip_assumed_t = ~self.members.flipped, None
        self.members.flip(t, which)

    def _assume_flip(self, t: float) -> None:
        """A flip long due without a mark: let half of the members have been flipped."""
        if self.off_t is not None or self.on_t is None or self.flip_assumed_t is not None:
            return
        planned = [step.t for step in self.plan if step.mark is MarkKind.FLIP]
        if self.has_flipped or not planned or t < self.on_t + planned[0] + _FLIP_OVERDUE_S:
            return
        self.flip_assumed_t = t
        self.members.flip(t, np.arange(MEMBERS) % 2 == 1)
        self.changed_t = t

    def _take_off(self, t: float) -> None:
        """The rest begins: on the grate nothing was learned of it, so every rest is paired anew."""
        self.residual.move(t)
        rows = resample(self.weights(), MEMBERS)
        self.members = self.members.resampled(rows, _SHUFFLE)
        self.members.take_off(t)
        self.residual.picked(rows)
        self.residual.forget_rise(_RISE_AT_OFF)
        self.own, self.told = np.zeros(MEMBERS), np.zeros(MEMBERS)
        self.off_t = self.changed_t = t

    def _weigh(self, surprise: Array, spread: float) -> None:
        cost = 0.5 * (_FREEDOM + 1.0) * np.log1p(surprise**2 / (spread * _FREEDOM))
        self.own = self.own - SHARE_OF_A_READING * cost
        self.own = self.own - self.own.max()

    def _correct(self, t: float, celsius: float) -> None:
        """Believe a spot as far as a probe's own offset allows, and as it met the middle."""
        found = read_spot(self.members, self.residual.at(np.full(MEMBERS, t)), t, celsius)
        share = 1.0 - float(self.weights() @ found.near_surface)
        gain = share * self._offset_var / (self._offset_var + SPOT_SIGMA_C**2)
        self.offset_c += gain * (celsius - self.core_c(t) - self.offset_c)
        self._offset_var *= 1.0 - gain

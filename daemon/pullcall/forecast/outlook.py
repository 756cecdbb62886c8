"""What a belief says of the pull and the peak. Nothing here changes the belief."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pullcall.degrees import F_PER_C
from pullcall.events import MarkKind, Quantiles
from pullcall.forecast.belief import Belief
from pullcall.forecast.members import Members
from pullcall.forecast.prior import MEMBERS
from pullcall.forecast.slab import Array, Rows, Unchanging
from pullcall.forecast.weighted import POINTS, quantiles, resample

#: Times ahead for which the members are looked at, s: fine where a pull is near.
_AHEAD = np.concatenate(
    (np.arange(0, 120, 4), np.arange(120, 400, 10), np.arange(400, 1200, 25), [1200, 1800, 3600])
).astype(float)
_RESTING = np.concatenate([np.arange(0, 120, 8), np.arange(120, 601, 30)]).astype(float)
#: A pull farther ahead than this is looked at as if it came then, s.
_FARTHEST_PULL_S = 900.0
#: A lid that is open is shut again about this much later, s: to turn, baste or spot a steak.
LID_STAYS_OPEN_S = 15.0
#: Members looked at for the climb after a pull.
_PULLED = 150
#: The spread of a member's own crossing and peak, over what the filter says: from the share of
#: truths that the bands covered on simulated cooks.
PULL_BAND, PEAK_BAND = 0.65, 0.75
#: Five degrees Fahrenheit.
FIVE_DEGREES_C = 5.0 / F_PER_C
#: What a climb forecast misses beyond its members, sd, C.
_CLIMB_SIGMA_C = 0.2


@dataclass(frozen=True, slots=True)
class Table(Unchanging):
    """What the members' tips will show, (M, K), at cook seconds ``times`` (K,)."""

    times: Array
    shows_c: Array


@dataclass(frozen=True, slots=True)
class Climb(Unchanging):
    """How far some members still climb if pulled at their crossing, C, (P,), as of ``t``."""

    t: float
    climb_c: Array

    @property
    def middle_c(self) -> float:
        """Half of the members climb higher."""
        return float(np.median(self.climb_c))

    def shifted(self, by_c: float) -> Climb:
        """The same, each ``by_c`` higher."""
        return Climb(self.t, self.climb_c + by_c) if by_c else self


def table_of(belief: Belief, t: float) -> Table:
    """The members' future from ``t`` on: a flip still planned, an open lid soon shut again."""
    members = belief.members
    if members.is_resting:
        return Table(t + _RESTING, members.shows_over(t + _RESTING))
    times = t + _AHEAD
    ahead, done, pieces = members.ahead(), t, []
    for at, act in sorted(_to_come(belief, t), key=lambda coming: coming[0]):
        pieces.append(ahead.shows_over(times[(times >= done) & (times < at)]))
        act(ahead, at)
        done = at
    pieces.append(ahead.shows_over(times[times >= done]))
    return Table(times, np.concatenate(pieces, axis=1))


def _to_come(belief: Belief, t: float) -> list[tuple[float, Callable[[Members, float], None]]]:
    """What the cook will do to the members, and when."""
    coming: list[tuple[float, Callable[[Members, float], None]]] = []
    flip = _planned_flip(belief, t)
    if flip is not None:
        coming.append((flip, lambda members, at: members.flip(at)))
    if belief.members.lid_is_open:
        coming.append((t + LID_STAYS_OPEN_S, lambda members, at: members.lid(at, False)))
    return coming


def _column(table: Table, now: float) -> int:
    """The last column not after ``now``, with one more behind it."""
    return int(np.clip(np.searchsorted(table.times, now) - 1, 0, len(table.times) - 2))


def _planned_flip(belief: Belief, t: float) -> float | None:
    """When the flip is to come, if it was neither marked nor assumed."""
    if belief.on_t is None or belief.flip_assumed_t is not None or belief.has_flipped:
        return None
    planned = [belief.on_t + step.t for step in belief.plan if step.mark is MarkKind.FLIP]
    return max(planned[0], t + 2.0) if planned else None


def crossings(belief: Belief, table: Table, level_c: float, now: float, off_sd: float) -> Array:
    """When each member, ``off_sd`` deviations of its error off, crosses ``level_c``: cook s, (M,).

    A member that never does is put at the end of the table.
    """
    first = _column(table, now)
    times = table.times[first:]
    shown = table.shows_c[:, first:] + belief.residual.path(times)
    if off_sd:
        shown = shown + off_sd * belief.residual.sd_at(times)[None, :]
    above = shown >= level_c
    above[:, -1] = True
    upper = np.maximum(above.argmax(axis=1), 1)
    rows = np.arange(MEMBERS)
    low, high = shown[rows, upper - 1], shown[rows, upper]
    share = np.clip((level_c - low) / np.maximum(high - low, 1e-6), 0.0, 1.0)
    return np.asarray(times[upper - 1] + share * (times[upper] - times[upper - 1]))


def pull_in(belief: Belief, table: Table, level_c: float, now: float) -> Quantiles:
    """Seconds from ``now`` until the core crosses ``level_c``, never negative.

    Each member crosses where its own error may put it: later for a slow one, and never in the
    past only because its rise is slow.
    """
    at = np.stack(
        [crossings(belief, table, level_c, now, PULL_BAND * point) for point in POINTS], axis=1
    )
    return quantiles(np.maximum(at - now, 0.0), belief.weights(), digits=1)


def widened(pull: Quantiles, band: float) -> Quantiles:
    """The band about the middle ``band`` times as wide, never below zero."""
    if band == 1.0:
        return pull
    low_s, high_s = (pull.p50 + band * (q - pull.p50) for q in (pull.p10, pull.p90))
    return Quantiles(round(max(low_s, 0.0), 1), pull.p50, round(high_s, 1))


def climb_of(belief: Belief, table: Table, level_c: float, now: float) -> Climb:
    """How far the core climbs after a pull at ``level_c``, for members in proportion.

    Past the level, or where it is far off, the pull is taken to come now or by then.
    """
    if belief.core_c(now) >= level_c:
        at = np.full(MEMBERS, now)
    else:
        at = np.minimum(crossings(belief, table, level_c, now, 0.0), now + _FARTHEST_PULL_S)
    rows = resample(belief.weights(), _PULLED)
    rested: Rows = np.linspace(0, MEMBERS - 1, _PULLED).astype(np.intp)
    shown, resting = belief.members.resampled(rows, rested).pulled(at[rows])
    climb = resting.shows_over(_RESTING).max(axis=1) - shown
    usual = np.median(climb)
    return Climb(now, usual + PEAK_BAND * (climb - usual))


def plain_climb(now: float) -> Climb:
    """The five-degree rule: 5 F, give or take two (common practice, no source)."""
    return Climb(now, FIVE_DEGREES_C + np.linspace(-1.1, 1.1, _PULLED))


def peak_if_pulled(belief: Belief, climb: Climb, level_c: float, now: float) -> Quantiles:
    """The highest core if pulled at ``level_c``, or now if it is past that."""
    pulled_at = max(level_c, belief.core_c(now))
    peaks = np.maximum(_spread(pulled_at + climb.climb_c, _CLIMB_SIGMA_C), belief.highest_c)
    return quantiles(peaks, np.full(_PULLED, 1.0 / _PULLED), digits=2)


def aim_for(climb: Climb, target_c: float) -> Quantiles:
    """The pull temperature that reaches a peak of ``target_c``: the climb is nearly the same for
    pulls a few degrees apart. Its p10 belongs to the greatest climb."""
    aims = _spread(target_c - climb.climb_c, _CLIMB_SIGMA_C)
    return quantiles(aims, np.full(_PULLED, 1.0 / _PULLED), digits=2)


def peak_resting(
    belief: Belief, table: Table, now: float, more_c: float
) -> tuple[Quantiles, float]:
    """The highest core of the whole cook once it is off, and seconds until it is passed; members
    that still climb climb ``more_c`` higher."""
    # Without a probe nothing but the members knows how high it was since it came off.
    first = _column(table, now) if belief.has_probe else 0
    times = np.maximum(table.times[first:], now) if belief.has_probe else table.times
    shown = table.shows_c[:, first:] + belief.residual.path(times)
    highest = shown.argmax(axis=1)
    sd = PEAK_BAND * belief.residual.sd_at(times[highest])
    tops = shown.max(axis=1) + np.where(highest > 0, more_c, 0.0)
    peaks = np.maximum(_spread(tops, sd), round(belief.highest_c, 2))
    weights = belief.weights()
    return quantiles(peaks, weights, digits=2), float(
        weights @ np.maximum(times[highest] - now, 0.0)
    )


def _spread(values: Array, sd: Array | float) -> Array:
    """Each value with its own normal spread, as evenly likely points, (M, points)."""
    return np.asarray(values[:, None] + np.reshape(sd, (-1, 1)) * POINTS[None, :])

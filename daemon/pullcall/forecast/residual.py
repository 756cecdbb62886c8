"""What the slabs get wrong, followed by the data: a level and a rise beside every member.

One covariance serves all members, since all see the same readings with the same gains; a reading
then costs a few operations per member. The rise wanders and fades, so far ahead the slab has the
last word and in the last minute the readings have it.
"""

from __future__ import annotations

import numpy as np

from pullcall.forecast.slab import Array

#: The rise that the slabs miss fades with this time constant, s.
FADES_S = 100.0
#: Spread of the level and of the rise as the steak goes on, C and K/s.
FIRST_LEVEL_C, FIRST_RISE = 0.6, 0.01
#: Wander of the level and of the rise, C and K/s per root second.
LEVEL_WANDER, RISE_WANDER = 0.01, 0.0015
#: Spots are too few to follow anything beside the slabs: a third of all that.
WITHOUT_A_PROBE = 1.0 / 3.0


class Residual:
    """Level (C) and rise (K/s) of each member's error, (M,), from cook second ``t`` on."""

    def __init__(self, count: int, t: float, has_probe: bool = True) -> None:
        self.t = t
        self.level, self.rise = np.zeros(count), np.zeros(count)
        share = 1.0 if has_probe else WITHOUT_A_PROBE
        self._wander = share * RISE_WANDER
        self._var = np.diag([(share * FIRST_LEVEL_C) ** 2, (share * FIRST_RISE) ** 2])

    def move(self, t: float) -> None:
        """Let time pass until ``t``."""
        dt = t - self.t
        if dt <= 0.0:
            return
        reach, left = _reach(dt), np.exp(-dt / FADES_S)
        step = np.array([[1.0, reach], [0.0, left]])
        wander = self._wander**2 * np.array([[dt**3 / 3.0, dt**2 / 2.0], [dt**2 / 2.0, dt]])
        wander[0, 0] += LEVEL_WANDER**2 * dt
        self.level = self.level + reach * self.rise
        self.rise = self.rise * left
        self._var = step @ self._var @ step.T + wander
        self.t = t

    def spread_of(self, noise_var: float) -> float:
        """Variance of a reading about a member's expectation, K^2."""
        return float(self._var[0, 0] + noise_var)

    def learn(self, surprise: Array, noise_var: float) -> None:
        """Take each member's ``surprise``: the reading less what it expected, (M,)."""
        gain = self._var[:, 0] / self.spread_of(noise_var)
        self.level = self.level + gain[0] * surprise
        self.rise = self.rise + gain[1] * surprise
        self._var = self._var - np.outer(gain, self._var[0])

    def loosen(self, level_c: float = 0.0, rise: float = 0.0) -> None:
        """Something happened: be less sure, by these standard deviations."""
        self._var = self._var + np.diag([level_c**2, rise**2])

    def forget_rise(self, sd: float) -> None:
        """The heat changed altogether: the rise missed so far says nothing any more."""
        self.rise = np.zeros_like(self.rise)
        self._var = np.diag([self._var[0, 0], sd**2])

    def picked(self, rows: np.ndarray) -> None:
        """Go on with the members ``rows``."""
        self.level, self.rise = self.level[rows], self.rise[rows]

    def path(self, times: Array) -> Array:
        """The error at each of K later ``times``, (M, K)."""
        reach = _reach(np.maximum(times - self.t, 0.0))
        return np.asarray(self.level[:, None] + self.rise[:, None] * reach[None, :])

    def at(self, times: Array) -> Array:
        """The error of each member at its own later time, (M,)."""
        return np.asarray(self.level + self.rise * _reach(np.maximum(times - self.t, 0.0)))

    def sd_at(self, times: Array) -> Array:
        """Standard deviation of the error at later ``times``, C."""
        dt = np.maximum(times - self.t, 0.0)
        reach = _reach(dt)
        (level, both), (_, rise) = self._var
        wander = self._wander**2 * dt**3 / 3.0 + LEVEL_WANDER**2 * dt
        return np.asarray(np.sqrt(level + 2.0 * both * reach + rise * reach**2 + wander))


def _reach(dt: float | Array) -> Array:
    """How far a rise of 1 K/s gets in ``dt`` while it fades, s."""
    return np.asarray(FADES_S * -np.expm1(-np.asarray(dt) / FADES_S))

"""Watches one steak without a probe: when a spot is asked for, and whether a pull is measured."""

from __future__ import annotations

import math

from pullcall.calls.rules import (
    AT_THE_PULL_S,
    FLIP_SETTLES_S,
    MOST_SPOTS_ASKED,
    SPOT_AGAIN_S,
    SPOT_AGED_S,
    SPOT_NEAR_S,
)
from pullcall.core.steak import SteakState
from pullcall.events import Forecast, Quantiles, Spot


class SpotWatch:
    """Asks as the pull comes near on an old spot, and once more where none came; a spot, or the
    pull itself, ends the asking. ``asked`` is how often since the last spot."""

    def __init__(self) -> None:
        self.asked = 0
        self.stands = False
        self.is_estimate = False
        self.coming: Quantiles | None = None
        self._asked_t = -math.inf
        self._spot: Spot | None = None

    def see(
        self, steak: SteakState, forecast: Forecast | None, now: float, pull_is_due: bool
    ) -> None:
        """Look at the steak, which is on, at ``now``."""
        self.coming = forecast.pull_in_s if forecast else None
        is_new = steak.last_spot != self._spot
        if is_new:
            self._spot, self.asked, self.stands = steak.last_spot, 0, False
        if steak.last_reading is not None:
            self.is_estimate = False
        elif is_new or not pull_is_due:  # what a called pull was known by stays so
            self.is_estimate = not _shows_the_pull(steak, forecast, now)
        if steak.ought_to_speak or pull_is_due:
            self.stands = False
        elif self._wants_one(steak, now):
            self.asked, self.stands, self._asked_t = self.asked + 1, True, now

    def _wants_one(self, steak: SteakState, now: float) -> bool:
        """A spot would help, and was not asked for just now, nor too often."""
        if self.asked >= MOST_SPOTS_ASKED or now - self._asked_t < SPOT_AGAIN_S * self.asked:
            return False
        pull = self.coming
        if pull is None or pull.p10 > SPOT_NEAR_S or _age_s(steak, now) <= SPOT_AGED_S:
            return False
        return not _flip_comes_first(steak, pull, now)


def _age_s(steak: SteakState, now: float) -> float:
    """Since the last spot, or since it went on."""
    on_t = now if steak.on_t is None else steak.on_t
    return now - (on_t if steak.last_spot is None else max(on_t, steak.last_spot.t))


def _flip_comes_first(steak: SteakState, pull: Quantiles, now: float) -> bool:
    """Just flipped, or a flip is to come before the pull: a spot tells more once that settled."""
    flip_t = steak.next_flip_t(now)
    is_to_come = flip_t is not None and flip_t - now < pull.p50
    return is_to_come or now - steak.flipped_t < FLIP_SETTLES_S


def _shows_the_pull(steak: SteakState, forecast: Forecast | None, now: float) -> bool:
    """Whether a spot at the pull temperature, or above, was taken a moment ago."""
    spot = steak.last_spot
    if spot is None or now - spot.t > AT_THE_PULL_S:
        return False
    moving_c = forecast.pull_c if forecast else None
    pull_c = steak.settings.pull_c if moving_c is None else moving_c
    return spot.celsius >= pull_c

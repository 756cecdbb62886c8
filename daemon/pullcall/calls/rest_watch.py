"""Watches one resting steak: has it rested, and is its peak passed?"""

from __future__ import annotations

import math

from pullcall.calls.rules import LEVEL_REST_S, PAST_PEAK_C, PAST_PEAK_S
from pullcall.core.phase import Phase
from pullcall.core.steak import SteakState
from pullcall.events import Forecast


class RestWatch:
    """The least rest comes from the forecast, the peak from the core itself."""

    def __init__(self) -> None:
        self.is_done = False
        self._highest_c = -math.inf
        self._rested_since: float | None = None
        self._past_since: float | None = None

    def see(self, steak: SteakState, forecast: Forecast | None, now: float) -> None:
        """Look at the steak at ``now``; before it rests there is nothing to see."""
        if steak.phase is not Phase.RESTING or forecast is None:
            self._forget()
            return
        if forecast.core_c is not None:
            self._highest_c = max(self._highest_c, forecast.core_c)
        rested = forecast.rest_in_s is not None and forecast.rest_in_s <= 0.0
        self._rested_since = _since(self._rested_since, rested, now)
        self._past_since = _since(self._past_since, rested and self._is_past(forecast), now)
        self.is_done = _lasted(self._past_since, PAST_PEAK_S, now) or _lasted(
            self._rested_since, LEVEL_REST_S, now
        )

    def _forget(self) -> None:
        self.is_done, self._highest_c = False, -math.inf
        self._rested_since = self._past_since = None

    def _is_past(self, forecast: Forecast) -> bool:
        core_c = forecast.core_c
        return core_c is None or core_c <= self._highest_c - PAST_PEAK_C


def _since(since: float | None, holds: bool, now: float) -> float | None:
    """When it began to hold; None while it does not."""
    return (now if since is None else since) if holds else None


def _lasted(since: float | None, for_s: float, now: float) -> bool:
    return since is not None and now - since >= for_s

"""Watches one steak's forecast for its pull: the leads ahead, now, and over."""

from __future__ import annotations

import math
from collections.abc import Callable

from pullcall.calls.rules import (
    FRESH_S,
    NOW_S,
    OVER_C,
    PULL_LEADS_S,
    WIDEST_BAND_IN_LEADS,
)
from pullcall.core.steak import SteakState
from pullcall.events import Forecast, Quantiles

_Says = Callable[[Forecast | None], bool]
#: Seconds by which the first of two forecasts in a row may still be above the lead.
_APPROACH_S = 2.0
#: A lead announced late is announced with the seconds really left when off by more than this.
_EXACT_S = 3.0


class PullWatch:
    """Two forecasts in a row decide, so that one odd forecast calls nothing."""

    def __init__(self) -> None:
        self.is_due = False
        self.is_over = False
        self._leads = list(PULL_LEADS_S)
        self._muted = False
        self._widest = WIDEST_BAND_IN_LEADS
        self._before: Forecast | None = None
        self._latest: Forecast | None = None
        self._fresh = False
        self._pull_c = 0.0

    def see(self, steak: SteakState, forecast: Forecast | None, now: float) -> None:
        """Take this second's forecast of the steak while it is on."""
        self._before, self._latest = self._latest, forecast
        self._pull_c = steak.settings.pull_c
        age = steak.reading_age(now)
        self._fresh = age is None or age <= FRESH_S
        self.is_due = self.is_due or self._both(self._says_now)
        self.is_over = self.is_over or self._both(self._says_over)
        if steak.last_reading is None:
            self._believe_spots()

    def _believe_spots(self) -> None:
        """Without a probe every spot is the best there is: one that shows time left takes
        "pull now" back and counts down again, and no band is too wide to be told."""
        pull = self._pull(self._latest)
        self._widest = math.inf
        if self.is_due and not self.is_over and pull is not None and pull.p50 > PULL_LEADS_S[-1]:
            self.is_due = False
            self._leads = [lead for lead in PULL_LEADS_S if lead < pull.p50]

    def mute(self) -> None:
        """The cook got it: no more leads, only "pull now"."""
        self._muted = True

    def leads_left(self) -> tuple[float, ...]:
        """The leads still to be announced, seconds."""
        return () if self._muted else tuple(self._leads)

    def take_lead(self) -> float | None:
        """The seconds to announce now, once per lead; None while there is nothing to say."""
        pull = self._pull(self._latest)
        reached = [lead for lead in self._leads if self._reaches(lead)]
        if not reached or pull is None:
            return None
        lead = reached[-1]
        self._leads = [left for left in self._leads if left < lead]
        if self._muted:
            return None
        return lead if abs(pull.p50 - lead) <= _EXACT_S else max(5.0, 5.0 * round(pull.p50 / 5.0))

    def _reaches(self, lead: float) -> bool:
        before, latest = self._pull(self._before), self._pull(self._latest)
        if before is None or latest is None or not self._fresh:
            return False
        narrow = latest.p90 - latest.p10 <= self._widest * lead
        return narrow and latest.p50 <= lead and before.p50 <= lead + _APPROACH_S

    def _both(self, says: _Says) -> bool:
        return says(self._before) and says(self._latest)

    def _says_now(self, forecast: Forecast | None) -> bool:
        if forecast is None:
            return False
        pull = forecast.pull_in_s
        soon = pull is not None and pull.p50 <= NOW_S and self._fresh
        return soon or (forecast.core_c is not None and forecast.core_c >= self._pull_c)

    def _says_over(self, forecast: Forecast | None) -> bool:
        core = forecast.core_c if forecast else None
        return core is not None and core >= self._pull_c + OVER_C

    @staticmethod
    def _pull(forecast: Forecast | None) -> Quantiles | None:
        return forecast.pull_in_s if forecast else None

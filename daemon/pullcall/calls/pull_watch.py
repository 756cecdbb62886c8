"""Watches one steak's forecast for its pull: the leads ahead, hold, now, over, and shaky."""

from __future__ import annotations

import math
from collections.abc import Callable

from pullcall.calls.reaction import earlier_s, leads_s, now_at_s
from pullcall.calls.rules import (
    AIMED_ANEW_C,
    FLIP_SETTLES_S,
    FRESH_S,
    HOLD_S,
    MOST_HOLDS,
    NOT_URGENT_S,
    OVER_C,
    PULL_LEADS_S,
    SHAKY_BAND_S,
    SHAKY_NEAR_S,
    SHAKY_ON_S,
    STAND_BY_C,
    URGENT_S,
    VOICE_GAP_S,
    WIDEST_BAND_IN_LEADS,
)
from pullcall.core.steak import SteakState
from pullcall.events import Forecast, Quantiles

_Says = Callable[[Forecast | None], bool]
#: Seconds by which the first of two forecasts in a row may still be above the lead.
_APPROACH_S = 2.0
#: A lead announced late is announced with the seconds really left when off by more than this.
_EXACT_S = 3.0
#: A hold is announced in steps of this many seconds.
_HOLD_STEP_S = 10.0


class PullWatch:
    """Two forecasts in a row decide, so that one odd forecast calls nothing.

    The cook needs ``reaction_s`` from "pull now" to the steak leaving the grate: it is called that
    much before the crossing. A lead counts to the crossing, when the steak ought to leave; one
    that "pull now" would talk into is left out. ``early_s`` is how much earlier than usual that is.
    """

    def __init__(self, reaction_s: float = 0.0) -> None:
        self._now_s, self.early_s = now_at_s(reaction_s), earlier_s(reaction_s)
        self._all_leads = leads_s(reaction_s)
        self.is_due = False
        self.is_over = False
        self.over_steps = 0
        self._leads = list(self._all_leads)
        self._muted = False
        self._announced: float | None = None
        self._taken_back = False
        self._aimed_c: float | None = None
        self.is_near = False
        self._holds = 0
        self._stood_by = False
        self._shaky_since: float | None = None
        self._widest = WIDEST_BAND_IN_LEADS
        self._before: Forecast | None = None
        self._latest: Forecast | None = None
        self._fresh = self._settled = False
        self._now = -math.inf
        self._pull_c = math.inf

    def see(self, steak: SteakState, forecast: Forecast | None, now: float) -> None:
        """Take this second's forecast of the steak while it is on."""
        self._before, self._latest, self._now = self._latest, forecast, now
        self._pull_c = steak.settings.pull_c
        age = steak.reading_age(now)
        self._fresh = age is None or age <= FRESH_S
        self._settled = now - steak.flipped_t >= FLIP_SETTLES_S
        self._see_how_near()
        self._see_aim()
        self.is_due = self.is_due or self._both(self._says_now)
        self.is_over = self.is_over or self._both(self._says_over)
        if self.is_due and self._aimed_c is None:
            self._aimed_c = self._target_c(forecast)
        self._see_how_far_over()
        self._see_shaky(steak.last_reading is not None)
        if steak.last_reading is None:
            self._believe_spots()

    def _believe_spots(self) -> None:
        """Without a probe every spot is the best there is: one that shows time left takes
        "pull now" back and counts down again, and no band is too wide to be told."""
        pull = self._pull(self._latest)
        self._widest = math.inf
        far_s = max(PULL_LEADS_S[-1], self._now_s + VOICE_GAP_S)
        if self.is_due and not self.is_over and pull is not None and pull.p50 > far_s:
            self.is_due, self._taken_back = False, True
            self._leads = [lead for lead in self._all_leads if lead < pull.p50]

    def mute(self) -> None:
        """The cook got it: no more leads, only a hold or "pull now"."""
        self._muted = True

    def leads_left(self) -> tuple[float, ...]:
        """The leads still to be announced, seconds."""
        return () if self._muted else tuple(self._leads)

    @property
    def is_shaky(self) -> bool:
        """Whether the forecast has been too wide, too near the pull, for too long."""
        since = self._shaky_since
        return since is not None and self._now - since >= SHAKY_ON_S

    def lead(self) -> float | None:
        """The seconds to announce now; None while there is nothing to say."""
        pull, lead = self._pull(self._latest), self._reached()
        if lead is None or pull is None or self._muted:
            return None
        return lead if abs(pull.p50 - lead) <= _EXACT_S else max(5.0, 5.0 * round(pull.p50 / 5.0))

    def say_lead(self, in_s: float) -> None:
        """A lead of ``in_s`` seconds was announced."""
        reached = self._reached()
        self._leads = [lead for lead in self._leads if reached is None or lead < reached]
        self._announced, self._aimed_c = self._now + in_s, self._target_c(self._latest)

    def hold(self) -> float | None:
        """The seconds to announce where a pull announced ahead has slipped later, or was called
        and is taken back by a spot."""
        if self._taken_back and (pull := self._pull(self._latest)) is not None:
            return max(_HOLD_STEP_S, _HOLD_STEP_S * round(pull.p50 / _HOLD_STEP_S))
        if self._announced is None or self._holds >= MOST_HOLDS or not self._both(self._slips):
            return None
        pull = self._pull(self._latest)
        return None if pull is None else _HOLD_STEP_S * round(pull.p50 / _HOLD_STEP_S)

    def say_hold(self, in_s: float) -> None:
        """A hold of ``in_s`` seconds was announced: the leads below it come again."""
        self._holds += 0 if self._taken_back else 1
        self._announced, self._muted, self._taken_back = self._now + in_s, False, False
        self._leads = [lead for lead in self._all_leads if lead < in_s - _APPROACH_S]

    def stands_by(self) -> bool:
        """Whether the temperature says to stand by, where the forecast is too shaky to say."""
        core = self._latest.core_c if self._latest else None
        near = core is not None and core >= self._target_c(self._latest) - STAND_BY_C
        return self.is_shaky and near and not self._stood_by

    def say_stand_by(self) -> None:
        """Stand by was announced."""
        self._stood_by = True

    def _reached(self) -> float | None:
        """The last lead that two forecasts in a row have come down to, where the band is not too
        wide for it; a greater one left unsaid is out of date."""
        before, latest = self._pull(self._before), self._pull(self._latest)
        if before is None or latest is None or not self._fresh:
            return None
        down_to = max(latest.p50, before.p50 - _APPROACH_S)
        reached = [lead for lead in self._leads if down_to <= lead]
        is_narrow = reached and latest.p90 - latest.p10 <= self._widest * reached[-1]
        return reached[-1] if is_narrow else None

    def _slips(self, forecast: Forecast | None) -> bool:
        pull = self._pull(forecast)
        if forecast is None or pull is None or self._announced is None:
            return False
        return forecast.t + pull.p50 > self._announced + HOLD_S

    def _see_shaky(self, has_probe: bool) -> None:
        """Only where a probe ought to make it better: spots are always this wide."""
        pull = self._pull(self._latest)
        wide = pull is not None and pull.p90 - pull.p10 > SHAKY_BAND_S and pull.p50 < SHAKY_NEAR_S
        if not (wide and has_probe):
            self._shaky_since = None
        elif self._shaky_since is None:
            self._shaky_since = self._now

    def _see_how_near(self) -> None:
        pull = self._pull(self._latest)
        limit = NOT_URGENT_S if self.is_near else URGENT_S
        self.is_near = pull is not None and pull.p50 <= limit

    def _see_aim(self) -> None:
        """The cook raised the pull temperature: what was called and answered was another pull."""
        target_c = self._target_c(self._latest)
        if self._aimed_c is None or target_c < self._aimed_c + AIMED_ANEW_C:
            return
        was_due = self.is_due or self.is_over
        pull = self._pull(self._latest)
        self.is_due = self.is_over = self._muted = False
        self.over_steps, self._before, self._aimed_c = 0, None, None
        self._announced = None
        self._taken_back = was_due and pull is not None and pull.p50 > self._now_s
        self._leads = [lead for lead in self._all_leads if pull is None or lead < pull.p50]

    def _see_how_far_over(self) -> None:
        """Each further step past the pull temperature is worth another alarm."""
        core = self._latest.core_c if self._latest else None
        if self.is_over and core is not None:
            steps = math.floor((core - self._target_c(self._latest)) / OVER_C)
            self.over_steps = max(self.over_steps, steps)

    def _both(self, says: _Says) -> bool:
        return says(self._before) and says(self._latest)

    def _target_c(self, forecast: Forecast | None) -> float:
        """The pull temperature of a forecast: it moves where the pull is aimed at the peak."""
        moving = forecast.pull_c if forecast else None
        return self._pull_c if moving is None else moving

    def _says_now(self, forecast: Forecast | None) -> bool:
        if forecast is None:
            return False
        pull = forecast.pull_in_s
        soon = pull is not None and pull.p50 <= self._now_s and self._fresh and self._settled
        return soon or (forecast.core_c is not None and forecast.core_c >= self._target_c(forecast))

    def _says_over(self, forecast: Forecast | None) -> bool:
        core = forecast.core_c if forecast else None
        return core is not None and core >= self._target_c(forecast) + OVER_C

    @staticmethod
    def _pull(forecast: Forecast | None) -> Quantiles | None:
        return forecast.pull_in_s if forecast else None

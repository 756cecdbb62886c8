"""The forecast of each steak's pull and peak from its readings, spots and marks.

No clock, no file, no chance: ``update`` takes events in time order, ``forecast`` looks without
touching, and the same events always give the same bytes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from pullcall.core.steak import changed
from pullcall.events import (
    CarryOver,
    CookHeader,
    Forecast,
    Mark,
    Normal,
    PullBy,
    Quantiles,
    Reading,
    Setting,
    Spot,
    SteakSettings,
)
from pullcall.forecast.belief import Belief
from pullcall.forecast.outlook import (
    Climb,
    Table,
    aim_for,
    climb_of,
    peak_if_pulled,
    peak_resting,
    plain_climb,
    pull_in,
    table_of,
    widened,
)
from pullcall.forecast.prior import taught_prior
from pullcall.forecast.rise_watch import RiseWatch
from pullcall.forecast.trouble import look_swapped, note_of

#: Temperatures a core cannot have are broken readings, C.
POSSIBLE_C = (-40.0, 150.0)
#: A table of what is ahead serves this long, and a look at the climb this long, s.
_TABLE_LASTS_S, _CLIMB_LASTS_S = 240.0, 5.0
#: Members teach each other's fire this often, s.
_TELL_S = 5.0
#: Farther than this no pull is told, s.
_FARTHEST_S = 3000.0
#: A probe silent for this long is not carried on, s; nor, after the longer time, are the spots
#: taken since. Where there never was a probe the members cook on for good: their band says how
#: little is known, and silence would take away the only warning there is of a pull.
COAST_S, SPOT_COAST_S = 180.0, 420.0
#: The band after a single spot is this much wider: bare it held 67 to 78 % of the truths of 80
#: steaks of simulated cooks, no fewer the older that spot was; so 83 % and more.
ONE_SPOT_BAND = 1.6
#: Rest at least this long: common practice (7 to 10 min), no source.
LEAST_REST_S = 420.0
#: What is taught of the climb gives way to the rest's own readings with this time constant, s.
_TAUGHT_CLIMB_FADES_S = 150.0
#: What earlier cooks taught counts as far as it can be meant: a climb so much more or less, C,
#: and a band so many times as wide.
MOST_CLIMB_C, BANDS = 8.0, (0.2, 5.0)


class _Watched:
    """One steak as the engine keeps it: belief, rise, and looks ahead made while updating."""

    def __init__(self, number: int, settings: SteakSettings, header: CookHeader) -> None:
        on_board = header.rest_on == "board"
        lessons = header.lessons
        taught = taught_prior(lessons.prior)
        self.climbs_more_c = min(max(lessons.climb_c, -MOST_CLIMB_C), MOST_CLIMB_C)
        self.own_climb_c = lessons.own_climb_c
        self.band = min(max(lessons.band, BANDS[0]), BANDS[1])
        self.belief = Belief(number, settings, header.plan, on_board, taught)
        self.rise = RiseWatch()
        self.table: Table | None = None
        self.climb: Climb | None = None
        self.told_by = header.carry_over
        self.swapped_t: float | None = None

    def look(self, t: float, anew: bool) -> None:
        """Look ahead where something changed or the last look is old."""
        belief = self.belief
        if belief.on_t is None:
            return
        if anew or self.table is None or t - self.table.times[0] > _TABLE_LASTS_S:
            self.table = table_of(belief, t)
            anew = True
        if belief.off_t is None and (
            anew or self.climb is None or t - self.climb.t >= _CLIMB_LASTS_S
        ):
            climb = climb_of(belief, self.table, self.level_c(t), t)
            self._see_own_climb(climb.middle_c)
            self.climb = climb.shifted(self.climbs_more_c)
        elif anew and belief.off_t == t:
            peak, _ = peak_resting(belief, self.table, t, 0.0)
            self._see_own_climb(peak.p50 - belief.core_c(t))

    def _see_own_climb(self, forecast_c: float) -> None:
        """An own climb is one's own whatever would be forecast: its middle is moved there."""
        if self.own_climb_c is not None:
            more_c = self.own_climb_c - forecast_c
            self.climbs_more_c = min(max(more_c, -MOST_CLIMB_C), MOST_CLIMB_C)

    def climb_told(self, now: float) -> Climb | None:
        """The climb after the pull, by the forecast or by the plain rule."""
        return plain_climb(now) if self.told_by is CarryOver.FIVE_DEGREES else self.climb

    def pull_c(self, now: float) -> float:
        """The steak's pull temperature, or the one that reaches its target, as shifted."""
        settings, climb = self.belief.settings, self.climb_told(now)
        pull_c = settings.pull_c
        if settings.pull_by is PullBy.TARGET and settings.target_c is not None and climb:
            pull_c = aim_for(climb, settings.target_c).p50
        return round(pull_c + settings.shift_c, 2)

    def level_c(self, now: float) -> float:
        """The pull temperature as the probe will show it."""
        return self.pull_c(now) - self.belief.offset_c


class ForecastEngine:
    """Forecasts for every steak of one cook."""

    def __init__(self, header: CookHeader) -> None:
        self._steaks = {
            s.steak: _Watched(number, s, header) for number, s in enumerate(header.steaks)
        }
        self._told_t = -math.inf

    def update(self, event: Reading | Spot | Mark | Setting) -> None:
        """Take the next event in time order; what makes no sense is left out silently."""
        if isinstance(event, Reading | Spot) and event.steak is None:
            return  # a probe in no steak, or a check of the grate
        for watched in self._meant(event.steak):
            if isinstance(event, Reading):
                self._read(watched, event)
            elif isinstance(event, Spot):
                if POSSIBLE_C[0] <= event.celsius <= POSSIBLE_C[1]:
                    watched.belief.spot(event.t, event.celsius)
                    watched.look(event.t, anew=True)
                    self._tell(event.t)
            elif isinstance(event, Mark):
                watched.belief.mark(event)
                watched.look(event.happened, anew=True)
            else:
                self._set(watched, event)

    def forecast(self, steak: str, now: float) -> Forecast:
        """What can be said at ``now`` (s) about ``steak``; raises KeyError for a strange name."""
        watched = self._steaks[steak]
        belief = watched.belief
        if belief.on_t is None or watched.table is None:
            return Forecast(now, steak, None, None, why="not on yet")
        if belief.off_t is None:
            found = _cooking(watched, watched.table, now)
        else:
            found = _resting(watched, watched.table, now, belief.off_t)
        rise = watched.rise.rise(now)
        return replace(
            found,
            steak=steak,
            core_c=round(belief.core_c(now) + belief.offset_c, 2),
            rise_c_per_min=rise.c_per_min if rise else None,
            rise_window_s=rise.window_s if rise else None,
            note=note_of(belief, watched.swapped_t, rise, now),
        )

    def believed(self, steak: str) -> Mapping[str, Normal]:
        """What is believed of each unknown of :mod:`pullcall.forecast.prior`, by name, of the
        logarithm where that is normal; raises KeyError for a strange steak."""
        return self._steaks[steak].belief.believed()

    def offset_c(self, steak: str) -> float:
        """How far spots put the core above what the probe shows, C; KeyError as above."""
        return self._steaks[steak].belief.offset_c

    def climbs_more_c(self, steak: str) -> float:
        """How much of the climb told is what was taught or given, C; KeyError as above."""
        return self._steaks[steak].climbs_more_c

    def _read(self, watched: _Watched, event: Reading) -> None:
        if not POSSIBLE_C[0] <= event.celsius <= POSSIBLE_C[1]:
            return
        if watched.rise.add(event.t, event.celsius):
            before = watched.belief.changed_t
            watched.belief.read(event.t, event.celsius, watched.rise.noise.sigma_c)
            moved = watched.belief.changed_t != before
            if watched.belief.surprise.moved_t == event.t:
                watched.rise.restart()
            watched.look(event.t, anew=moved)
            if moved:
                self._look_for_swap(event.t)
            self._tell(event.t)

    def _set(self, watched: _Watched, event: Setting) -> None:
        belief = watched.belief
        is_of_cook = event.steak is None
        if is_of_cook and event.name == "carry_over" and event.value in tuple(CarryOver):
            watched.told_by = CarryOver(str(event.value))
        if is_of_cook and event.name == "rest_on":
            belief.rest_on(event.value == "board")
        belief.set(changed(belief.settings, event))
        if event.name == "channel":
            watched.rise = RiseWatch()
        watched.look(event.t, anew=True)

    def _tell(self, t: float) -> None:
        """Now and then each steak tells the other what its readings say of the fire."""
        cooking = [w.belief for w in self._steaks.values() if w.belief.is_cooking]
        if t - self._told_t < _TELL_S or len(cooking) < 2:
            return
        self._told_t = t
        for belief in cooking:
            others = [other.own for other in cooking if other is not belief]
            belief.told = np.sum(others, axis=0)

    def _look_for_swap(self, t: float) -> None:
        """Two probes that moved at once, each to where the other was, changed places."""
        steaks = list(self._steaks.values())
        if len(steaks) == 2 and look_swapped(steaks[0].belief, steaks[1].belief, t):
            for watched in steaks:
                watched.swapped_t = t

    def _meant(self, steak: str | None) -> list[_Watched]:
        if steak is None:
            return list(self._steaks.values())
        return [self._steaks[steak]] if steak in self._steaks else []


def _cooking(watched: _Watched, table: Table, now: float) -> Forecast:
    """The pull, the peak after it, and the pull temperature that would reach the target."""
    belief, pull_c = watched.belief, watched.pull_c(now)
    level = pull_c - belief.offset_c
    why = _why_not(belief, now)
    is_guess = belief.spots == 1 and not belief.has_probe
    band = watched.band * (ONE_SPOT_BAND if is_guess else 1.0)
    pull = None if why else widened(pull_in(belief, table, level, now), band)
    if pull is not None and pull.p50 > _FARTHEST_S:
        pull, why = None, "rising too slowly to reach the pull temperature"
    climb = watched.climb_told(now)
    if climb is None:
        return Forecast(now, "", pull, None, pull_c=pull_c, why=why)
    peak = _shifted(peak_if_pulled(belief, climb, level, now), belief.offset_c)
    target = belief.settings.target_c
    aim = None if target is None else aim_for(climb, target)
    return Forecast(now, "", pull, peak, aim_c=aim, pull_c=pull_c, why=why)


def _resting(watched: _Watched, table: Table, now: float, off_t: float) -> Forecast:
    """The peak, the time to it, and the time to the end of the least rest."""
    belief = watched.belief
    more_c = watched.climbs_more_c * math.exp(-(now - off_t) / _TAUGHT_CLIMB_FADES_S)
    peak, peak_in = peak_resting(belief, table, now, more_c)
    rest_in = max(peak_in, off_t + LEAST_REST_S - now, 0.0)
    peak = _shifted(peak, belief.offset_c)
    peak_in, rest_in = round(peak_in, 1), round(rest_in, 1)
    return Forecast(now, "", None, peak, peak_in_s=peak_in, rest_in_s=rest_in)


def _shifted(found: Quantiles, by: float) -> Quantiles:
    return Quantiles(*(round(q + by, 2) for q in (found.p10, found.p50, found.p90)))


def _why_not(belief: Belief, now: float) -> str | None:
    """Why no pull can be told, or None where one can."""
    silent = now - max(belief.last_reading_t or -math.inf, belief.on_t or 0.0)
    if not belief.has_probe:
        return None
    if not belief.spots:
        return f"no reading for {silent:.0f} s: tap in a spot" if silent > COAST_S else None
    return f"no spot for {silent:.0f} s: tap in another" if silent > SPOT_COAST_S else None

"""One steak's facts, from what was noted of it and how its cook stands at the end."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from statistics import median

from pullcall.core.cook import Cook
from pullcall.core.curve import Curve
from pullcall.core.steak import SteakState
from pullcall.events import Forecast, Mark, MarkKind, Quantiles
from pullcall.hindsight.facts import DoneMark, PeakScore, SteakFacts, Trace
from pullcall.hindsight.scores import lead_scores, peak_scores
from pullcall.hindsight.truth import TrueCore
from pullcall.hindsight.watched import SteakWatch

#: Readings so shortly before on tell the start, s, and how few are too few.
_BEFORE_ON_S, _FEWEST = 30.0, 3
#: A forecast is that at off when made so near it, s.
_AT_OFF_S = 5.0
#: When acts on a steak were wanted; missing or None where nothing was planned.
Wanted = Mapping[MarkKind, float | None]


def steak_facts(watch: SteakWatch, cook: Cook, wanted: Wanted) -> SteakFacts:
    """What is known of a steak once the pass over its cook is done."""
    state = cook.steaks[watch.name]
    core = TrueCore(tuple(watch.readings), _or_never(state.on_t), state.off_t)
    pull_c, offset_c = _pull_c(watch, state), watch.offset_c
    crossing, peak = core.crossing(pull_c - offset_c), core.peak()
    off_c = _off_c(watch, core, state)
    return SteakFacts(
        watch.name,
        state.settings,
        on_t=state.on_t,
        off_t=state.off_t,
        boxed_t=state.boxed_t,
        handed_in_t=state.handed_in_t,
        start_c=_start_c(watch, state),
        pull_c=pull_c,
        cross_t=crossing.t if crossing else None,
        is_extrapolated=crossing is not None and crossing.is_extrapolated,
        now_t=watch.now_t,
        off_c=off_c,
        rise_at_off_c_per_min=_rise_at_off(watch, state),
        peak_t=round(peak.t, 1) if peak else None,
        peak_c=(peak_c := round(peak.celsius + offset_c, 2) if peak else None),
        climb_told_c=_climb_told(watch, state, off_c),
        climb_taught_c=round(watch.climbs_more_c, 2),
        rested_t=watch.rested_t,
        leads=() if crossing is None else tuple(lead_scores(_aimed(watch), crossing.t)),
        peaks=_peaks(watch, state, peak_c),
        marks=_marks(cook, state, {MarkKind.OFF: watch.now_t, **wanted}),
        spots=tuple((s.t, s.celsius) for s in cook.history.spots() if s.steak == watch.name),
        trace=_thinned(watch.readings),
        believed=watch.believed,
        notes=watch.notes,
    )


def _or_never(t: float | None) -> float:
    return math.inf if t is None else t


def _pull_c(watch: SteakWatch, state: SteakState) -> float:
    """The pull temperature last forecast for before off; before on, that of the settings."""
    until = _or_never(state.off_t)
    told = (f.pull_c for f in reversed(watch.told) if f.pull_c is not None and f.t <= until)
    return next(told, round(state.settings.pull_c + state.settings.shift_c, 2))


def _off_c(watch: SteakWatch, core: TrueCore, state: SteakState) -> float | None:
    """By its readings; without a probe, as the forecast had it."""
    shown = core.at_off_c()
    if shown is not None:
        return round(shown + watch.offset_c, 2)
    near = None if state.off_t is None else watch.told_near(state.off_t, _AT_OFF_S)
    return near.core_c if near else None


def _start_c(watch: SteakWatch, state: SteakState) -> float | None:
    on_t = state.on_t
    if on_t is None:
        return None
    before = [c for t, c in watch.readings if on_t - _BEFORE_ON_S < t <= on_t]
    return round(median(before), 2) if len(before) >= _FEWEST else None


def _rise_at_off(watch: SteakWatch, state: SteakState) -> float | None:
    if state.off_t is None:
        return None
    off_t = state.off_t
    before = (f for f in reversed(watch.told) if off_t - _AT_OFF_S <= f.t <= off_t)
    return next((f.rise_c_per_min for f in before if f.rise_c_per_min is not None), None)


def _climb_told(watch: SteakWatch, state: SteakState, off_c: float | None) -> Quantiles | None:
    """The first forecast of the rest's peak less the core at off."""
    if state.off_t is None or off_c is None:
        return None
    first = next((f for f in watch.told if f.t >= state.off_t and f.peak_in_s is not None), None)
    if first is None or first.peak_c is None or first.t > state.off_t + _AT_OFF_S:
        return None
    peak = first.peak_c
    return Quantiles(*(round(c - off_c, 2) for c in (peak.p10, peak.p50, peak.p90)))


def _aimed(watch: SteakWatch) -> Sequence[Forecast]:
    """The forecasts of this pull; those before another was aimed at were of another."""
    return [forecast for forecast in watch.told if forecast.t > watch.aimed_t]


def _peaks(watch: SteakWatch, state: SteakState, peak_c: float | None) -> tuple[PeakScore, ...]:
    if state.off_t is None or peak_c is None:
        return ()
    return tuple(peak_scores(watch.told, state.off_t, peak_c))


def _marks(cook: Cook, state: SteakState, wanted: Wanted) -> tuple[DoneMark, ...]:
    """The marks that stand and made sense, each with when it was wanted."""
    again = SteakState(state.settings, cook.setup.plan)
    found = []
    for mark in cook.history.marks():
        if (
            mark.steak in (None, state.name)
            and mark.mark in _OF_A_STEAK
            and again.allows(mark.mark)
        ):
            planned_t = _wanted(again, mark, wanted)
            again.mark(mark)
            found.append(DoneMark(mark.happened, mark.mark, planned_t))
    return tuple(found)


_OF_A_STEAK = frozenset(
    {
        MarkKind.ON,
        MarkKind.TURN,
        MarkKind.FLIP,
        MarkKind.BASTE,
        MarkKind.OFF,
        MarkKind.BOXED,
        MarkKind.HANDED_IN,
    }
)


def _wanted(state: SteakState, mark: Mark, wanted: Wanted) -> float | None:
    if mark.mark in (MarkKind.TURN, MarkKind.FLIP):
        return state.wanted_t(mark)
    return wanted.get(mark.mark)


def _thinned(readings: Sequence[tuple[float, float]]) -> Trace:
    curve = Curve()
    for t, celsius in readings:
        curve.add(t, celsius)
    return tuple(curve.points())

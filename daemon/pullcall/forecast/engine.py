"""The forecast of each steak's pull and peak from its readings, spots and marks.

No clock, no file: ``update`` takes events in time order, ``forecast`` looks without touching.
"""

from __future__ import annotations

import math

from pullcall.events import CookHeader, Forecast, Mark, Quantiles, Reading, Setting, Spot
from pullcall.forecast.crossing import FARTHEST_S, crossing_sd, quantiles_of, time_to_level
from pullcall.forecast.peak import peak_if_pulled, peak_resting
from pullcall.forecast.rise_rate import ANY_RISE, LocalFit, fit_rise, forgetting_s
from pullcall.forecast.track import SteakTrack

#: Readings before there is a fit: how many, over how long in s.
FEWEST_READINGS, SHORTEST_S = 5, 10.0
#: A probe silent for longer is not carried on, s.
COAST_S = 90.0
#: One spot's error (place and hand), C, and how fast spots are forgotten, s.
SPOT_SIGMA_C, SPOT_FORGETTING_S = 1.0, 60.0
#: Spots older than this are not carried on, s.
SPOT_COAST_S = 300.0
#: A slower rise is no rise, K/s: half a degree a minute.
LEAST_RISE = 0.5 / 60.0
#: A steak whose core is below this has not begun to cook, C.
RAW_C = 20.0
#: A turn, flip, baste or moved probe widens the band by this share until it is felt at the
#: core (diffusion over half a thickness), s; then the widening halves every MARK_FADES_S.
MARK_WIDENS, MARK_FELT_S, MARK_FADES_S = 0.6, 75.0, 30.0
#: The rise should be this many times the mean rise since on (the first minute hardly rises),
#: give or take USUAL_SPREAD of it. Steadies hand-held spots; measured on simulated cooks.
USUAL_SHARE, USUAL_SPREAD = 1.1, 0.4


class ForecastEngine:
    """Forecasts for every steak of one cook."""

    def __init__(self, header: CookHeader) -> None:
        self._tracks = {s.steak: SteakTrack(s) for s in header.steaks}

    def update(self, event: Reading | Spot | Mark | Setting) -> None:
        """Take the next event in time order; what makes no sense is left out silently."""
        match event:
            case Reading(t=t, steak=str(steak), celsius=celsius) if steak in self._tracks:
                self._tracks[steak].read(t, celsius)
            case Spot(t=t, steak=steak, celsius=celsius) if steak in self._tracks:
                self._tracks[steak].spot(t, celsius)
            case Mark(steak=steak):
                for track in self._meant(steak):
                    track.mark(event)
            case Setting(steak=steak, name=name, value=value):
                for track in self._meant(steak):
                    track.set(name, value)

    def forecast(self, steak: str, now: float) -> Forecast:
        """What can be said at ``now`` (s) about ``steak``; raises KeyError for a strange name."""
        track = self._tracks[steak]
        fit, why = fit_of(track, now)
        pull: Quantiles | None = None
        if track.off_t is not None:
            peak, why = peak_off(track, now, track.off_t), None
        else:
            peak = peak_if_pulled(max(track.pull_c, fit.core_c if fit else track.pull_c))
            if fit is not None:
                pull, why = pull_of(track, fit, now)
        if fit is None:
            return Forecast(now, steak, pull, peak, why=why)
        core, rise = round(fit.core_c, 2), round(fit.rise * 60.0, 2)
        return Forecast(now, steak, pull, peak, core, rise, round(fit.span_s, 1), why)

    def _meant(self, steak: str | None) -> list[SteakTrack]:
        if steak is None:
            return list(self._tracks.values())
        return [self._tracks[steak]] if steak in self._tracks else []


def fit_of(track: SteakTrack, now: float) -> tuple[LocalFit | None, str | None]:
    """The fit with its origin at ``now``, or None and why; the probe first, then spots.

    Spots say nothing of now once the steak is off: what they rise along ends there.
    """
    fit, why = fit_of_readings(track, now)
    if fit is not None or not len(track.spots) or track.off_t is not None:
        return fit, why
    by_spots, spots_why = fit_of_spots(track, now)
    if by_spots is not None:
        return by_spots, None
    return None, why if len(track.readings) else spots_why


def fit_of_readings(track: SteakTrack, now: float) -> tuple[LocalFit | None, str | None]:
    """The fit to the probe's readings, or None and why."""
    t, celsius = track.readings.until(now)
    if not len(t):
        return None, "no probe: tap in a spot"
    if now - t[-1] > COAST_S:
        return None, f"no reading for {now - t[-1]:.0f} s"
    span = float(t[-1] - t[0])
    if len(t) < FEWEST_READINGS or span < SHORTEST_S:
        return None, f"only {span:.0f} s of readings"
    sigma = track.noise.sigma_c
    fit = fit_rise(t, celsius, sigma, forgetting_s(sigma, span / (len(t) - 1)))
    return fit.moved(now), None


def fit_of_spots(track: SteakTrack, now: float) -> tuple[LocalFit | None, str | None]:
    """The fit to the spots, or None and why."""
    t, celsius = track.spots.until(now)
    if len(t) < 2:
        return None, "only one spot: tap in another"
    if now - t[-1] > SPOT_COAST_S:
        return None, f"no spot for {now - t[-1]:.0f} s: tap in another"
    usual = usual_rise(track, float(t[-1]), float(celsius[-1]))
    fit = fit_rise(t, celsius, SPOT_SIGMA_C, SPOT_FORGETTING_S, usual_rise=usual)
    return fit.moved(now), None


def usual_rise(track: SteakTrack, t: float, celsius: float) -> tuple[float, float]:
    """The rise to expect of a steak at ``celsius`` at ``t``, and its sd, K/s."""
    if track.on_t is None or t - track.on_t < SHORTEST_S or celsius <= track.start_c:
        return ANY_RISE
    usual = USUAL_SHARE * (celsius - track.start_c) / (t - track.on_t)
    return usual, USUAL_SPREAD * usual


def pull_of(track: SteakTrack, fit: LocalFit, now: float) -> tuple[Quantiles | None, str | None]:
    """Time to the pull temperature, or None and why."""
    if fit.core_c >= track.pull_c and fit.rise < LEAST_RISE:
        return Quantiles(0.0, 0.0, 0.0), None
    if fit.rise < LEAST_RISE:
        return None, _why_not_rising(fit)
    ahead = time_to_level(fit, track.pull_c)
    if ahead is None or ahead > FARTHEST_S:
        return None, "rising too slowly to reach the pull temperature"
    sd = crossing_sd(fit, track.pull_c, ahead)
    if track.disturbed_t is not None and track.disturbed_t <= now:
        unfelt = max(now - track.disturbed_t - MARK_FELT_S, 0.0)
        sd *= 1.0 + MARK_WIDENS * 0.5 ** (unfelt / MARK_FADES_S)
    return quantiles_of(ahead, sd), None


def peak_off(track: SteakTrack, now: float, off_t: float) -> Quantiles:
    """The highest core temperature of the whole cook, in C, of a steak taken off at ``off_t``."""
    highest = track.highest_c if track.highest_c is not None else -math.inf
    last = min(now, track.readings.last_t)
    if last >= off_t - COAST_S:
        fit, _ = fit_of_readings(track, last)
        if fit is not None and track.highest_c is not None:
            sigma = track.noise.sigma_c
            return peak_resting(fit.core_c, fit.rise, highest, last - off_t, sigma)
    fit, _ = fit_of_spots(track, min(now, off_t))
    return peak_if_pulled(fit.core_c if fit else max(track.pull_c, highest), highest)


def _why_not_rising(fit: LocalFit) -> str:
    if fit.core_c < RAW_C:
        return "not rising yet"
    return "falling" if fit.rise < -LEAST_RISE else "not rising"

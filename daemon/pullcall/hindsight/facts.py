"""What is known of a cook afterwards: frozen records, worked out from its log alone.

Times ``t`` are seconds since the cook's zero, temperatures degrees Celsius. None stands for what
was not seen: a probe pulled out at off shows no peak, a steak pulled early never crossed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from pullcall.events import CookHeader, MarkKind, Normal, Quantiles, Range, SteakSettings

#: (t, Celsius), oldest first.
Trace = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class LeadScore:
    """The forecast made about ``lead_s`` before the true crossing, held against it.

    ``true_in_s`` is what was truly left at ``t``; ``crps_s`` the quantile CRPS of the three
    quantiles, ``interval_s`` the interval score of p10-p90 (both in seconds, lower is better).
    """

    lead_s: float
    t: float
    pull_in_s: Quantiles
    true_in_s: float
    crps_s: float
    interval_s: float

    @property
    def error_s(self) -> float:
        """Middle less truth: positive where the steak came sooner than told."""
        return self.pull_in_s.p50 - self.true_in_s

    @property
    def is_covered(self) -> bool:
        """Whether the truth lay between p10 and p90."""
        return self.pull_in_s.p10 <= self.true_in_s <= self.pull_in_s.p90


@dataclass(frozen=True, slots=True)
class PeakScore:
    """A forecast of the peak, ``after_off_s`` seconds after off (0: at off), against the peak."""

    after_off_s: float
    t: float
    peak_c: Quantiles
    true_c: float
    crps_c: float

    @property
    def error_c(self) -> float:
        """Middle less truth."""
        return self.peak_c.p50 - self.true_c

    @property
    def is_covered(self) -> bool:
        """Whether the peak lay between p10 and p90."""
        return self.peak_c.p10 <= self.true_c <= self.peak_c.p90


@dataclass(frozen=True, slots=True)
class DoneMark:
    """A mark that stands: when it happened, and when it had been planned or called for."""

    t: float
    mark: MarkKind
    planned_t: float | None = None


@dataclass(frozen=True, slots=True)
class SteakFacts:
    """One steak. ``settings`` are those it had at the end.

    ``pull_c`` is the pull temperature in force as it came off (or last); ``cross_t`` when the
    core truly crossed it, by a fit through readings before and after (``is_extrapolated``: it
    came off earlier, and the last rise was carried on). ``now_t`` is when "pull now" was first
    called (the last time, where it was taken back). ``off_c`` is the core at off, ``peak_c`` the
    highest seen since, None unless the readings went past it; both, and the crossing, as spots
    had corrected the probe by off. ``climb_told_c`` is the carry-over forecast at off, lessons in
    force included, and ``climb_taught_c`` how much of it they are. ``rested_t`` is when "rested"
    was called. ``start_c`` is what the probe showed before on. ``believed`` is what the forecast
    had come to believe, at off, of each unknown of :mod:`pullcall.forecast.prior` (of the
    logarithm where that is normal); what a rest alone shows, it had learned nothing of yet.
    ``notes`` are the troubles that were told of its readings. ``trace`` is what the probe
    showed, thinned for drawing.
    """

    steak: str
    settings: SteakSettings
    on_t: float | None = None
    off_t: float | None = None
    boxed_t: float | None = None
    handed_in_t: float | None = None
    start_c: float | None = None
    pull_c: float | None = None
    cross_t: float | None = None
    is_extrapolated: bool = False
    now_t: float | None = None
    off_c: float | None = None
    rise_at_off_c_per_min: float | None = None
    peak_t: float | None = None
    peak_c: float | None = None
    climb_told_c: Quantiles | None = None
    climb_taught_c: float = 0.0
    rested_t: float | None = None
    leads: tuple[LeadScore, ...] = ()
    peaks: tuple[PeakScore, ...] = ()
    marks: tuple[DoneMark, ...] = ()
    spots: Trace = ()
    trace: Trace = ()
    believed: Mapping[str, Normal] = field(default_factory=lambda: MappingProxyType({}))
    notes: tuple[str, ...] = ()

    @property
    def climb_c(self) -> float | None:
        """The carry-over measured: peak less the core at off."""
        if self.peak_c is None or self.off_c is None:
            return None
        return self.peak_c - self.off_c

    @property
    def reaction_s(self) -> float | None:
        """From "pull now" to off; None where it came off before it was called."""
        if self.now_t is None or self.off_t is None or self.off_t < self.now_t:
            return None
        return self.off_t - self.now_t


@dataclass(frozen=True, slots=True)
class Said:
    """A call or alarm as it was announced the first time."""

    t: float
    call: str
    steaks: tuple[str, ...]
    text: str
    priority: int


@dataclass(frozen=True, slots=True)
class AlarmFacts:
    """One alarm from its first sound to its end. ``cause`` says why, in words; ``times`` counts
    how often it sounded; None where nobody answered, or where it never ended."""

    id: str
    call: str
    steaks: tuple[str, ...]
    cause: str
    began_t: float
    times: int
    answered_t: float | None = None
    by: str = ""
    ended_t: float | None = None


@dataclass(frozen=True, slots=True)
class StepFacts:
    """One step of the plan against what happened; ``steak`` None where it concerns all.

    ``planned_t`` is when the plan asked to begin it while it was still to come (its last word
    before it was begun, or done), ``began_t`` when it was begun, ``ended_t`` when it was over,
    ``took_s`` the time between; None where no mark tells: seasoning, pouring, fetching and boxing
    are marked once done. ``range_`` is how long it was meant to take.
    """

    name: str
    steak: str | None
    label: str
    range_: Range
    planned_t: float | None
    began_t: float | None
    took_s: float | None
    ended_t: float | None = None

    @property
    def late_s(self) -> float | None:
        """Begun so much later than planned; negative: earlier. Where only its end is known,
        ended so much later than with the middle of its range."""
        if self.planned_t is None:
            return None
        if self.began_t is not None:
            return self.began_t - self.planned_t
        if self.ended_t is None:
            return None
        return self.ended_t - self.planned_t - (self.range_.low_s + self.range_.high_s) / 2.0


@dataclass(frozen=True, slots=True)
class FireFacts:
    """The grate: as the first steak went on, and between that and the last off."""

    at_on_c: float | None = None
    low_c: float | None = None
    high_c: float | None = None
    mean_c: float | None = None
    ready_t: float | None = None
    trace: Trace = ()


@dataclass(frozen=True, slots=True)
class CookFacts:
    """A whole cook. ``setup`` are its settings as they stood at the end.

    ``ends_t`` is its last record; ``window_t`` the turn-in window; ``chance_at_on`` the chance
    told as the first steak went on. ``as_called`` is whether working it out anew gave the very
    calls that were logged (None where none were logged, as in an imported cook).
    """

    cook: str
    setup: CookHeader
    ends_t: float
    steaks: tuple[SteakFacts, ...]
    fire: FireFacts
    steps: tuple[StepFacts, ...] = ()
    said: tuple[Said, ...] = ()
    alarms: tuple[AlarmFacts, ...] = ()
    window_t: tuple[float, float] | None = None
    chance_at_on: float | None = None
    as_called: bool | None = None

    @property
    def started(self) -> str:
        """When it began, ISO 8601."""
        return self.setup.started

    @property
    def handed_in_t(self) -> float | None:
        """When the box was handed in: the first steak handed in."""
        times = [s.handed_in_t for s in self.steaks if s.handed_in_t is not None]
        return min(times, default=None)

    def steak(self, name: str) -> SteakFacts | None:
        """The steak of that name."""
        return next((s for s in self.steaks if s.steak == name), None)

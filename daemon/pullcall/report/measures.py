"""What is measured of a cook and of each steak, and which difference is worth telling."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from pullcall.events import CallKind, MarkKind
from pullcall.hindsight.facts import AlarmFacts, CookFacts, SteakFacts
from pullcall.report.degrees import Degrees, clock, span


class Kind(Enum):
    """What a figure is, and so how it is told."""

    TEMPERATURE = "temperature"
    GRATE = "grate"
    DIFFERENCE = "difference"
    LENGTH = "length"
    SECONDS = "seconds"
    THICKNESS = "thickness"
    COUNT = "count"


@dataclass(frozen=True, slots=True)
class Measure:
    """``of`` takes the cook and a steak (None: the measure is the cook's); ``worth`` is the
    difference worth telling: kelvin, seconds, millimetres or a count. Common practice, no source,
    where its comment names none. ``more`` and ``less`` complete "4 F … than last time"."""

    name: str
    label: str
    kind: Kind
    worth: float
    of: Callable[[CookFacts, SteakFacts], float | None]
    more: str = "more"
    less: str = "less"
    is_of_cook: bool = False

    def told(self, value: float, degrees: Degrees) -> str:
        """A figure in words."""
        if self.kind is Kind.TEMPERATURE:
            return degrees.at(value)
        if self.kind is Kind.GRATE:
            return degrees.whole(value)
        if self.kind is Kind.DIFFERENCE:
            return degrees.signed(value)
        if self.kind is Kind.LENGTH:
            return clock(value)
        if self.kind is Kind.SECONDS:
            return f"{value:.1f} s"
        return degrees.thick(value) if self.kind is Kind.THICKNESS else f"{value:g}"

    def apart(self, difference: float, degrees: Degrees) -> str:
        """How far two figures are apart, without a sign."""
        if self.kind in (Kind.TEMPERATURE, Kind.GRATE, Kind.DIFFERENCE):
            return degrees.apart(difference)
        return span(difference) if self.kind is Kind.LENGTH else self.told(abs(difference), degrees)

    def unit(self, degrees: Degrees) -> str:
        """The unit of :meth:`number`."""
        if self.kind in (Kind.TEMPERATURE, Kind.GRATE, Kind.DIFFERENCE):
            return degrees.letter
        if self.kind is Kind.THICKNESS:
            return degrees.length
        return "s" if self.kind in (Kind.LENGTH, Kind.SECONDS) else ""

    def number(self, value: float, degrees: Degrees) -> float:
        """A figure in the reader's unit, rounded as it is told."""
        if self.kind is Kind.DIFFERENCE:
            return round(degrees.step(value), 1)
        if self.kind in (Kind.TEMPERATURE, Kind.GRATE):
            return round(degrees.number(value), 1 if self.kind is Kind.TEMPERATURE else 0)
        if self.kind is Kind.THICKNESS:
            return degrees.thickness(value)
        return round(value, 0 if self.kind is Kind.LENGTH else 1)


#: They are called at every cook, and say that nothing is wrong.
_PROMPTS = frozenset(
    {CallKind.PULL_NOW, CallKind.SPOT_DUE, CallKind.REST_DONE, CallKind.PLAN_STEP, CallKind.WINDOW}
)


def troubles(facts: CookFacts) -> tuple[AlarmFacts, ...]:
    """The alarms that said that something was wrong."""
    return tuple(alarm for alarm in facts.alarms if alarm.call not in _PROMPTS)


def flip_t(steak: SteakFacts) -> float | None:
    """When it was first flipped."""
    return min((m.t for m in steak.marks if m.mark is MarkKind.FLIP), default=None)


def less(one: float | None, other: float | None) -> float | None:
    """One less the other, None where either is not known."""
    return None if one is None or other is None else one - other


def against_pull_c(steak: SteakFacts) -> float | None:
    """The core at off above (below: negative) its pull temperature, kelvin."""
    return less(steak.off_c, steak.pull_c)


def late_s(steak: SteakFacts) -> float | None:
    """Off so long after the core crossed its pull temperature (before: negative), seconds."""
    return less(steak.off_t, steak.cross_t)


def against_target_c(steak: SteakFacts) -> float | None:
    """The peak above (below: negative) its target, kelvin."""
    return less(steak.peak_c, steak.settings.target_c)


def slack_s(facts: CookFacts) -> float | None:
    """From the hand-in to the window's close; negative: too late."""
    return less(facts.window_t[1], facts.handed_in_t) if facts.window_t else None


#: Half a degree Celsius of the core is what an eye tells between two steaks; 10 s are a
#: temperature step of the core of about 1 K at the pull (7 K a minute).
MEASURES = (
    Measure("start", "start temperature", Kind.TEMPERATURE, 1.5, lambda _, s: s.start_c,
            "warmer", "colder"),
    Measure("thickness", "thickness", Kind.THICKNESS, 1.0,
            lambda _, s: s.settings.thickness_mm, "thicker", "thinner"),
    Measure("grate_at_on", "grate at the first on", Kind.GRATE, 14.0,
            lambda f, _: f.fire.at_on_c, "hotter", "cooler", True),
    Measure("grate_mean", "grate while cooking", Kind.GRATE, 10.0,
            lambda f, _: f.fire.mean_c, "hotter", "cooler", True),
    Measure("on_to_flip", "on to flip", Kind.LENGTH, 12.0,
            lambda _, s: less(flip_t(s), s.on_t), "longer", "shorter"),
    Measure("flip_to_off", "flip to off", Kind.LENGTH, 25.0,
            lambda _, s: less(s.off_t, flip_t(s)), "longer", "shorter"),
    Measure("on_to_off", "on to off", Kind.LENGTH, 25.0,
            lambda _, s: less(s.off_t, s.on_t), "longer", "shorter"),
    Measure("off", "core at off", Kind.TEMPERATURE, 0.6, lambda _, s: s.off_c,
            "higher", "lower"),
    Measure("against_pull", "off against pull", Kind.DIFFERENCE, 0.5,
            lambda _, s: against_pull_c(s), "higher", "lower"),
    Measure("reaction", "“pull now” to off", Kind.SECONDS, 4.0,
            lambda _, s: s.reaction_s, "longer", "shorter"),
    Measure("climb", "carry-over", Kind.DIFFERENCE, 0.5, lambda _, s: s.climb_c,
            "more", "less"),
    Measure("peak", "peak", Kind.TEMPERATURE, 0.6, lambda _, s: s.peak_c, "higher", "lower"),
    Measure("against_target", "peak against target", Kind.DIFFERENCE, 0.6,
            lambda _, s: against_target_c(s), "higher", "lower"),
    Measure("rest", "rest until boxed", Kind.LENGTH, 60.0,
            lambda _, s: less(s.boxed_t, s.off_t), "longer", "shorter"),
    Measure("handed_in", "first on to handed in", Kind.LENGTH, 120.0,
            lambda f, _: less(f.handed_in_t, first_on_t(f)), "longer", "shorter", True),
    Measure("slack", "left of the window", Kind.LENGTH, 180.0,
            lambda f, _: slack_s(f), "more", "less", True),
    Measure("alarms", "alarms", Kind.COUNT, 2.0, lambda f, _: float(len(troubles(f))),
            "more", "fewer", True),
)  # fmt: skip


def first_on_t(facts: CookFacts) -> float | None:
    """When the first steak went on."""
    return min((s.on_t for s in facts.steaks if s.on_t is not None), default=None)

"""A lesson: one figure that earlier cooks taught, with the evidence for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from pullcall.degrees import F_PER_C, celsius_to_fahrenheit
from pullcall.errors import RefusedError
from pullcall.events import Normal, Range
from pullcall.learning.choice import Mode

_MINUTE_S = 60.0
#: Halves are rounded up, as pages do it.
_HALF_UP = 1e-9
#: Durations from here on are said in minutes, seconds.
_IN_MINUTES_S = 120.0


@dataclass(frozen=True, slots=True)
class Evidence:
    """What one cook (of one ``steak``, or as a whole: None) showed, in the lesson's unit;
    ``weight`` (0 to 1) is how much it counted."""

    cook: str
    steak: str | None
    value: float
    weight: float


@dataclass(frozen=True, slots=True)
class Lesson:
    """One figure of the next cook. ``unit`` is "s", "C" (a difference), "x" (times as much), or
    "" for what is no single figure (see ``prior``): that cannot be the cook's own.

    ``learned`` is None while no cook taught anything, ``own`` while the cook gave no figure;
    ``in_force`` is that of ``mode``. An own figure lies between ``least`` and ``most``. ``cooks``
    counts those that had something to say. ``range_`` is what a learned or own duration becomes
    in the plan, ``prior`` what the forecast believes beforehand if the lesson is in force.
    """

    name: str
    label: str
    unit: str
    mode: Mode
    default: float
    learned: float | None
    own: float | None
    in_force: float
    cooks: int
    why: str
    evidence: tuple[Evidence, ...]
    least: float
    most: float
    range_: Range | None = None
    prior: Mapping[str, Normal] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def is_changed(self) -> bool:
        """Whether something else than the default is in force."""
        if self.mode is Mode.LEARNED:
            return self.learned is not None
        return self.mode is Mode.OWN and self.own is not None

    @property
    def can_be_own(self) -> bool:
        """Whether the cook can give a figure."""
        return self.unit != ""

    @property
    def words(self) -> str:
        """In Celsius; see :func:`words`."""
        return words(self, "C")


def words(lesson: Lesson, unit: str) -> str:
    """What was learned, what is in force and what would be otherwise, for a reader of ``unit``
    ("C" or "F"): "from your 4 cooks: 2.6 C, default 2.8 C"."""
    said = [_learned(lesson, unit)]
    if lesson.mode is Mode.OWN and lesson.own is not None:
        said.append(f"your own {figure(lesson, lesson.own, unit)}")
    elif lesson.mode is Mode.DEFAULT and lesson.learned is not None:
        said.append("not in use")
    said.append(f"default {figure(lesson, lesson.default, unit)}")
    return ", ".join(said)


def _learned(lesson: Lesson, unit: str) -> str:
    if lesson.learned is None:
        return "nothing from your cooks yet"
    cooks = "your cook" if lesson.cooks == 1 else f"your {lesson.cooks} cooks"
    heat = "" if lesson.unit else "heat from below "
    return f"from {cooks}: {heat}{figure(lesson, lesson.learned, unit)}"


def figure(lesson: Lesson, value: float, unit: str) -> str:
    """One of its figures with a unit, for a reader of ``unit`` ("C" or "F")."""
    if lesson.unit == "":  # the level of the heat, not a difference
        celsius = f"{value:.0f} C"
        return celsius if unit == "C" else f"{celsius_to_fahrenheit(value):.0f} F"
    if lesson.unit == "C":
        return f"{value:.1f} C" if unit == "C" else f"{value * F_PER_C:.1f} F"
    if lesson.unit == "x":
        return f"{value:.2f} x"
    if value < _IN_MINUTES_S:
        return f"{value:.1f} s" if value < 20.0 else f"{value:.0f} s"
    return f"{value / _MINUTE_S + _HALF_UP:.1f} min"


def check_own(lesson: Lesson, value: float) -> None:
    """Raise RefusedError for a figure that a lesson cannot have."""
    if not lesson.can_be_own:
        raise RefusedError(f"{lesson.label} is no single figure: use what was learned, or reset.")
    if not lesson.least <= value <= lesson.most:
        least, most = (figure(lesson, end, "C") for end in (lesson.least, lesson.most))
        raise RefusedError(f"{lesson.label} lies between {least} and {most}.")

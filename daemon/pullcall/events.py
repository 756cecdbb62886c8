"""The frozen dataclasses that cross boundaries.

Times ``t`` are seconds on the daemon's monotonic clock since the cook's zero, rounded to
milliseconds; temperatures are degrees Celsius. Fahrenheit exists only where people read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType


class MarkKind(StrEnum):
    """Something the cook did."""

    ON = "on"
    TURN = "turn"
    FLIP = "flip"
    BASTE = "baste"
    LID_OPEN = "lid_open"
    LID_CLOSE = "lid_close"
    OFF = "off"
    BOXED = "boxed"
    HANDED_IN = "handed_in"


#: Marks that concern the whole grill and so carry no steak.
GRILL_MARKS = frozenset({MarkKind.LID_OPEN, MarkKind.LID_CLOSE})


@dataclass(frozen=True, slots=True)
class Reading:
    """One temperature from a probe. ``steak`` is None while its channel is not assigned."""

    t: float
    steak: str | None
    celsius: float
    channel: str | None = None


@dataclass(frozen=True, slots=True)
class Spot:
    """One hand-held check of a steak's centre, tapped in."""

    t: float
    steak: str
    celsius: float
    id: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """Something the cook did; ``steak`` None means all steaks or the grill.

    ``t`` is when it was entered, ``at`` when it happened if that was earlier.
    """

    t: float
    steak: str | None
    mark: MarkKind
    id: str = ""
    at: float | None = None

    @property
    def happened(self) -> float:
        """When it happened, in seconds since the cook's zero."""
        return self.t if self.at is None else self.at


@dataclass(frozen=True, slots=True)
class Undo:
    """Takes back the mark or spot with this id."""

    t: float
    id: str


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of a steak (or of the cook, ``steak`` None) changed while it runs."""

    t: float
    steak: str | None
    name: str
    value: float | str | None


@dataclass(frozen=True, slots=True)
class Acknowledgement:
    """Somebody answered a call. Idempotent; ``by`` says who."""

    t: float
    call: str
    by: str


@dataclass(frozen=True, slots=True)
class End:
    """The cook is over; a replay runs up to here."""

    t: float


@dataclass(frozen=True, slots=True)
class Reached:
    """The clock reached ``t`` and calls were made; a replay runs up to here too."""

    t: float


Input = Reading | Spot | Mark | Undo | Setting | Acknowledgement | Reached | End


@dataclass(frozen=True, slots=True)
class Quantiles:
    """p10, p50 and p90 of one forecast quantity."""

    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """What can be said about one steak at ``t``, using nothing later than ``t``.

    ``pull_in_s`` is the time until the core crosses the pull temperature if the steak stays
    on; None after off, or while it cannot be said, and then ``why`` says why. ``peak_c`` is the
    highest core temperature over the whole cook. ``core_c`` is the filtered core temperature,
    ``rise_c_per_min`` its robust rise over the last ``rise_window_s`` seconds. ``aim_c`` is the
    pull temperature that reaches the target peak, while there is one and the steak is on;
    ``peak_in_s`` and ``rest_in_s`` count to the peak and to the end of the least rest, after off.
    ``note`` says in plain words what looks wrong or is to be borne in mind.
    """

    t: float
    steak: str
    pull_in_s: Quantiles | None
    peak_c: Quantiles | None
    core_c: float | None = None
    rise_c_per_min: float | None = None
    rise_window_s: float | None = None
    aim_c: Quantiles | None = None
    peak_in_s: float | None = None
    rest_in_s: float | None = None
    why: str | None = None
    note: str | None = None


class CallKind(StrEnum):
    """The names of calls and alarms."""

    TURN = "turn"
    FLIP = "flip"
    PULL_SOON = "pull_soon"
    PULL_NOW = "pull_now"
    OVER = "over"
    PROBE_LOST = "probe_lost"


@dataclass(frozen=True, slots=True)
class Call:
    """One announcement. ``steaks`` is empty for the whole cook, several names for twins.

    ``id`` names the instance (repeats of an alarm share it); ``in_s`` counts to the act it
    announces; ``priority`` is 1 (act in seconds), 2 (within minutes) or 3 (later).
    """

    t: float
    id: str
    steaks: tuple[str, ...]
    call: CallKind
    in_s: float | None
    priority: int
    text: str


@dataclass(frozen=True, slots=True)
class PlannedMark:
    """A turn or flip of the cook's pattern, ``t`` seconds after each steak's own on."""

    t: float
    mark: MarkKind


@dataclass(frozen=True, slots=True)
class SteakSettings:
    """What is known of one steak before it goes on."""

    steak: str
    thickness_mm: float = 32.0
    start_c: float = 5.0
    pull_c: float = 53.9
    target_c: float | None = None
    channel: str | None = None


@dataclass(frozen=True, slots=True)
class Window:
    """The turn-in window, as ISO 8601 wall times with an offset."""

    opens: str
    closes: str


#: Two-minute turn, flip at four, turn ninety seconds later: common practice, no source.
USUAL_PATTERN = (
    PlannedMark(120.0, MarkKind.TURN),
    PlannedMark(240.0, MarkKind.FLIP),
    PlannedMark(330.0, MarkKind.TURN),
)


class CarryOver(StrEnum):
    """How the climb after the pull is told: by the forecast, or by the plain five-degree rule."""

    FORECAST = "forecast"
    FIVE_DEGREES = "five_degrees"


@dataclass(frozen=True, slots=True)
class CookHeader:
    """The settings a cook starts with; the first line of its log."""

    cook: str
    started: str
    steaks: tuple[SteakSettings, ...] = (SteakSettings("left"), SteakSettings("right"))
    rest_on: str = "rack"
    carry_over: CarryOver = CarryOver.FORECAST
    plan: tuple[PlannedMark, ...] = USUAL_PATTERN
    window: Window | None = None
    simulated: bool = False
    # What a later version wrote, kept as it was.
    extra: Mapping[str, object] = field(default_factory=lambda: MappingProxyType({}))

    def names(self) -> tuple[str, ...]:
        """The steaks' names, in the cook's order."""
        return tuple(s.steak for s in self.steaks)

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
    SEASONED = "seasoned"
    LIT = "lit"
    POURED = "poured"
    FETCHED = "fetched"


#: Steps of the morning, before anything is on: all steaks seasoned, the chimney lit, its coal
#: poured, the steaks fetched off the ice.
MORNING_MARKS = (MarkKind.SEASONED, MarkKind.LIT, MarkKind.POURED, MarkKind.FETCHED)
#: Marks that concern the whole grill or all steaks and so carry no steak.
GRILL_MARKS = frozenset({MarkKind.LID_OPEN, MarkKind.LID_CLOSE, *MORNING_MARKS})


@dataclass(frozen=True, slots=True)
class Reading:
    """One temperature from a probe. ``steak`` is None while its channel is not assigned."""

    t: float
    steak: str | None
    celsius: float
    channel: str | None = None


@dataclass(frozen=True, slots=True)
class Spot:
    """One hand-held check, tapped in: of a steak's centre, or (``steak`` None) of the grate."""

    t: float
    steak: str | None
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
class Shelving:
    """Somebody put an alarm aside for ``for_s`` seconds; ``by`` says who."""

    t: float
    call: str
    by: str
    for_s: float


class Fault(StrEnum):
    """What can be wrong around the cook, and is told as an alarm or a notice."""

    UNHEARD = "unheard"
    RECORDER = "recorder"
    CLOCK = "clock"
    UNSET = "unset"
    BATTERY = "battery"
    DISK = "disk"


@dataclass(frozen=True, slots=True)
class Condition:
    """A fault of the surroundings began (``active``) or ended; ``detail`` names what it concerns.

    The shell finds faults; logging them makes a replay call them again.
    """

    t: float
    fault: Fault
    active: bool
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Restart:
    """The daemon was started again in the middle of the cook, or the machine was suspended: what
    nobody answered sounds again."""

    t: float


@dataclass(frozen=True, slots=True)
class End:
    """The cook is over; a replay runs up to here."""

    t: float


@dataclass(frozen=True, slots=True)
class Reached:
    """The clock reached ``t`` and calls were made; a replay runs up to here too."""

    t: float


#: What a person writes into the logbook: a figure, words, a list of words; None takes it out.
NoteValue = float | str | tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Note:
    """One thing written into the logbook, at the wall time ``wall`` (ISO 8601), of a steak or
    (``steak`` None) of the whole cook. The latest of a name stands. No input: it changes no call.
    """

    wall: str
    steak: str | None
    name: str
    value: NoteValue


Input = (
    Reading
    | Spot
    | Mark
    | Undo
    | Setting
    | Acknowledgement
    | Shelving
    | Condition
    | Restart
    | Reached
    | End
)


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
    ``pull_c`` is the pull temperature forecast for: the steak's own, or the one that reaches its
    target, and the cook's shift. ``note`` says in plain words what looks wrong or is to be borne
    in mind.
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
    pull_c: float | None = None
    why: str | None = None
    note: str | None = None


class CallKind(StrEnum):
    """The names of calls and alarms."""

    TURN = "turn"
    FLIP = "flip"
    PULL_SOON = "pull_soon"
    PULL_HOLD = "pull_hold"
    PULL_NOW = "pull_now"
    OVER = "over"
    PROBE_LOST = "probe_lost"
    PROBE_WRONG = "probe_wrong"
    FIRE_LOW = "fire_low"
    FIRE_HIGH = "fire_high"
    FORECAST_SHAKY = "forecast_shaky"
    SPOT_DUE = "spot_due"
    REST_DONE = "rest_done"
    PLAN_STEP = "plan_step"
    WINDOW = "window"
    UNHEARD = "unheard"
    RECORDER_TROUBLE = "recorder_trouble"
    CLOCK_JUMPED = "clock_jumped"
    CLOCK_UNSET = "clock_unset"
    BATTERY_LOW = "battery_low"


@dataclass(frozen=True, slots=True)
class Call:
    """One announcement. ``steaks`` is empty for the whole cook, several names for twins.

    ``id`` names the instance (repeats of an alarm share it); ``in_s`` counts to the act it
    announces; ``priority`` is 1 (act in seconds), 2 (within minutes) or 3 (later). Calls of one
    ``t`` are one burst: sounded together, most urgent first. ``insistent`` marks an alarm nobody
    answered: it goes on sounding until the next call, on every path there is.
    """

    t: float
    id: str
    steaks: tuple[str, ...]
    call: CallKind
    in_s: float | None
    priority: int
    text: str
    insistent: bool = False


@dataclass(frozen=True, slots=True)
class Proposal:
    """A mark that the readings suggest, to be confirmed by a tap or by time.

    ``happened`` is when it seems to have been done, ``why`` what in the readings says so. At
    ``confirm_t`` it is taken as done if nobody said otherwise (None: only a tap confirms it).
    """

    t: float
    id: str
    steak: str | None
    mark: MarkKind
    happened: float
    confirm_t: float | None
    why: str


@dataclass(frozen=True, slots=True)
class PlannedMark:
    """A turn or flip of the cook's pattern, ``t`` seconds after each steak's own on."""

    t: float
    mark: MarkKind


class PullBy(StrEnum):
    """What decides when a steak comes off: its pull temperature, or the target peak."""

    TEMPERATURE = "temperature"
    TARGET = "target"


@dataclass(frozen=True, slots=True)
class SteakSettings:
    """What is known of one steak before it goes on.

    ``shift_c`` pulls it later (positive) or earlier by choice; ``look`` is what the cook noted of
    its looks, for the choice at the end.
    """

    steak: str
    thickness_mm: float = 32.0
    start_c: float = 5.0
    pull_c: float = 53.9
    target_c: float | None = None
    channel: str | None = None
    pull_by: PullBy = PullBy.TEMPERATURE
    shift_c: float = 0.0
    look: str = ""


@dataclass(frozen=True, slots=True)
class Range:
    """The shortest and the longest that a step may take, seconds; any length between is as
    likely as another."""

    low_s: float
    high_s: float


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
class FireSettings:
    """The probe in or on the grate, and between which temperatures the fire is as it should be.

    Over 500 F to start is common practice, no source; so is holding back a fire above 750 F.
    """

    channel: str | None = None
    floor_c: float = 260.0
    ceiling_c: float = 398.9


@dataclass(frozen=True, slots=True)
class Normal:
    """What is believed of a figure: its mean and standard deviation, in its own unit."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class Lessons:
    """What the cook's earlier cooks changed in this one; by default nothing.

    ``prior`` replaces what is believed beforehand of unknowns of
    :mod:`pullcall.forecast.prior`, by name (of the logarithm where that is normal). ``climb_c``
    is added to the forecast carry-over, which ``own_climb_c`` replaces: the middle of the forecast
    is that then. ``band`` widens (above 1) or narrows the band of the pull. ``reaction_s`` is what
    the cook needs from "pull now" to off: it is called as much earlier as that is longer than
    what is usual (:func:`pullcall.calls.reaction.earlier_s`). ``durations`` names the steps whose
    duration was taught.
    """

    prior: Mapping[str, Normal] = field(default_factory=lambda: MappingProxyType({}))
    climb_c: float = 0.0
    own_climb_c: float | None = None
    band: float = 1.0
    reaction_s: float = 0.0
    durations: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CookHeader:
    """The settings a cook starts with; the first line of its log.

    ``aim_share`` is the share of the turn-in window that has passed at the moment aimed for;
    ``durations`` are the cook's own for steps of the plan, by the step's name; ``offset_s`` is
    how much later the second steak is meant to go on; ``lessons`` are what earlier cooks taught.
    """

    cook: str
    started: str
    steaks: tuple[SteakSettings, ...] = (SteakSettings("left"), SteakSettings("right"))
    rest_on: str = "rack"
    carry_over: CarryOver = CarryOver.FORECAST
    plan: tuple[PlannedMark, ...] = USUAL_PATTERN
    window: Window | None = None
    aim_share: float = 1.0 / 3.0
    durations: Mapping[str, Range] = field(default_factory=lambda: MappingProxyType({}))
    offset_s: float = 0.0
    fire: FireSettings = FireSettings()
    simulated: bool = False
    lessons: Lessons = Lessons()
    # What a later version wrote, kept as it was.
    extra: Mapping[str, object] = field(default_factory=lambda: MappingProxyType({}))

    def names(self) -> tuple[str, ...]:
        """The steaks' names, in the cook's order."""
        return tuple(s.steak for s in self.steaks)

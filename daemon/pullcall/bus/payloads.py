"""What is in the messages of a site. One model for each channel of :mod:`pullcall.bus.channels`.

Times ``t`` are seconds on the cook's own clock, temperatures Celsius. A reader ignores keys that it
does not know; sizes are bounded, for a board trusts no site.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from pullcall.calls.alarm import CallState
from pullcall.core.phase import Phase
from pullcall.events import CallKind, CarryOver, MarkKind, PullBy
from pullcall.fire.state import FireState
from pullcall.sources.sink import AdapterState, LinkState

#: Bytes of a payload that is read at all.
LARGEST = 256 * 1024

Seconds = Annotated[float, Field(allow_inf_nan=False, ge=-1e7, le=1e7)]
Celsius = Annotated[float, Field(allow_inf_nan=False, ge=-500, le=2000)]
Share = Annotated[float, Field(allow_inf_nan=False, ge=0, le=1)]
Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e9, le=1e9)]
Count = Annotated[int, Field(ge=0, lt=2**53)]
Name = Annotated[str, StringConstraints(max_length=80)]
Words = Annotated[str, StringConstraints(max_length=500)]
Wall = Annotated[str, StringConstraints(max_length=40)]


class Payload(BaseModel):
    """A message, or a part of one."""

    model_config = ConfigDict(frozen=True, extra="ignore")


class Presence(Payload):
    """Whether the site is there: ``lost`` is its last will, ``gone`` a goodbye."""

    state: Literal["here", "gone", "lost"]
    name: Name = ""
    version: Name = ""


class Pulse(Payload):
    """The cook's clock as it stands, each second; ``speed`` is how many times faster than life."""

    t: Seconds
    wall: Wall
    speed: Annotated[float, Field(ge=0.01, le=1000, allow_inf_nan=False)] = 1.0
    mode: Literal["live", "demo", "replay"] = "live"
    unit: Literal["F", "C"] = "F"
    banner: Words | None = None


class Quantiles(Payload):
    """p10, p50 and p90."""

    p10: Number
    p50: Number
    p90: Number


class Reading(Payload):
    """The latest value of the probe in a steak."""

    t: Seconds
    celsius: Celsius


class Forecast(Payload):
    """What can be said about a steak; what says nothing is left out."""

    t: Seconds
    steak: Name
    pull_in_s: Quantiles | None
    peak_c: Quantiles | None
    core_c: Celsius | None = None
    rise_c_per_min: Number | None = None
    rise_window_s: Number | None = None
    aim_c: Quantiles | None = None
    peak_in_s: Number | None = None
    rest_in_s: Number | None = None
    pull_c: Celsius | None = None
    why: Words | None = None
    note: Words | None = None


class NextAct(Payload):
    """A planned act."""

    mark: MarkKind
    due_t: Seconds


class Steak(Payload):
    """Where a steak stands, and its settings."""

    steak: Name
    phase: Phase
    on_t: Seconds | None
    off_t: Seconds | None
    thickness_mm: Number
    start_c: Celsius
    pull_c: Celsius
    target_c: Celsius | None
    channel: Name | None
    pull_by: PullBy
    shift_c: Number
    look: Words
    next: NextAct | None


class Curve(Payload):
    """The readings of a steak so far, thinned: ``[t, celsius]`` each."""

    points: Annotated[list[tuple[Seconds, Celsius]], Field(max_length=500)]


class Mark(Payload):
    """Something the cook did."""

    id: Name
    t: Seconds
    at: Seconds | None = None
    steak: Name | None
    mark: MarkKind


class Spot(Payload):
    """A hand-held check."""

    id: Name
    t: Seconds
    steak: Name | None
    celsius: Celsius


class Deeds(Payload):
    """What the cook did so far, without what was taken back."""

    marks: Annotated[list[Mark], Field(max_length=400)]
    spots: Annotated[list[Spot], Field(max_length=400)]


class Call(Payload):
    """One announcement, with the state of its alarm, which sounded first at ``since_t``."""

    id: Name
    t: Seconds
    since_t: Seconds | None = None
    steaks: Annotated[list[Name], Field(max_length=4)]
    call: CallKind
    in_s: Number | None
    priority: Annotated[int, Field(ge=1, le=3)]
    text: Words
    insistent: bool = False
    state: CallState


class Calls(Payload):
    """The last calls, and every alarm that lives."""

    calls: Annotated[list[Call], Field(max_length=120)]


class Due(Payload):
    """A call that is to come."""

    steaks: Annotated[list[Name], Field(max_length=4)]
    call: CallKind
    due_t: Seconds
    text: Words
    priority: Annotated[int, Field(ge=1, le=3)]


class Schedule(Payload):
    """The calls that are to come, the next one first."""

    calls: Annotated[list[Due], Field(max_length=40)]


class PlannedMark(Payload):
    """A turn or flip of the cook's pattern, seconds after each steak's own on."""

    t: Seconds
    mark: MarkKind


class Range(Payload):
    """The shortest and the longest that a step may take, seconds."""

    low_s: Number
    high_s: Number


class Window(Payload):
    """The turn-in window, wall times."""

    opens: Wall
    closes: Wall


class FireSettings(Payload):
    """The probe at the grate, and between which temperatures the fire is as it should be."""

    channel: Name | None
    floor_c: Celsius
    ceiling_c: Celsius


class Cook(Payload):
    """The cook's settings, and the names of its steaks, the first lane first."""

    id: Name
    started: Wall
    steaks: Annotated[list[Name], Field(min_length=1, max_length=2)]
    rest_on: Name
    carry_over: CarryOver
    plan: Annotated[list[PlannedMark], Field(max_length=40)]
    window: Window | None
    window_t: tuple[Seconds, Seconds] | None
    aim_share: Share
    offset_s: Number
    durations: Annotated[dict[Name, Range], Field(max_length=40)]
    fire: FireSettings
    simulated: bool


class PlanStep(Payload):
    """A step of the day."""

    name: Name
    steak: Name | None
    label: Words
    begin_t: Seconds
    latest_t: Seconds
    low_s: Number
    high_s: Number
    critical: bool
    asks: bool
    done_t: Seconds | None


class Offset(Payload):
    """How far apart the steaks are meant to go on."""

    offset_s: Number
    gap_s: Quantiles
    apart: Share


class Plan(Payload):
    """The plan as it stands."""

    t: Seconds
    steps: Annotated[list[PlanStep], Field(max_length=60)]
    chance: Share | None
    as_planned: Share | None
    choice: Share | None
    slack_s: Number | None
    last_on_t: Annotated[dict[Name, Seconds], Field(max_length=4)]
    hand_in_t: Quantiles | None
    gap_s: Quantiles | None
    offset: Offset | None
    advice: Annotated[list[Words], Field(max_length=20)]


class Planned(Payload):
    """The plan, or none."""

    plan: Plan | None


class Fire(Payload):
    """The grate."""

    celsius: Celsius
    trend_c_per_min: Number | None
    floor_in_s: Number | None
    age_s: Number
    state: FireState


class Grate(Payload):
    """The grate, or nothing known of it."""

    fire: Fire | None


class Proposal(Payload):
    """A mark that the readings suggest."""

    id: Words
    t: Seconds
    steak: Name | None
    mark: MarkKind
    happened: Seconds
    confirm_t: Seconds | None
    why: Words


class Proposals(Payload):
    """The marks that the readings suggest now."""

    proposals: Annotated[list[Proposal], Field(max_length=20)]


class Probe(Payload):
    """One channel of one probe."""

    channel: Name
    device: Name
    name: Name
    standard: Name
    state: LinkState
    celsius: Celsius | None
    battery_percent: Annotated[int, Field(ge=0, le=100)] | None
    rssi_dbm: Annotated[int, Field(ge=-1000, le=1000)] | None
    age_s: Number | None
    attempts: Count
    refused: Count
    note: Words
    steak: Name | None
    is_grate: bool


class Adapter(Payload):
    """The machine's Bluetooth adapter."""

    name: Name
    state: AdapterState
    note: Words


class Probes(Payload):
    """Every probe heard, as of a few seconds ago, and the adapter."""

    probes: Annotated[list[Probe], Field(max_length=64)]
    adapter: Adapter | None


class Check(Payload):
    """One line of the readiness list."""

    name: Name
    ok: bool
    words: Words
    celsius: Celsius | None


class Outlet(Payload):
    """One way a call reaches people."""

    name: Name
    kind: Name
    state: Name
    note: Words


class Around(Payload):
    """Whether a cook could begin, and how the outlets are."""

    readiness: Annotated[list[Check], Field(max_length=20)]
    outlets: Annotated[list[Outlet], Field(max_length=20)]

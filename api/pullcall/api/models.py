"""What requests carry and answers look like; pydantic lives only here and in the settings."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StrictBool,
    StringConstraints,
    WithJsonSchema,
    field_validator,
)

from pullcall.core.channel import is_channel
from pullcall.events import CarryOver, MarkKind, PullBy, Range, SteakSettings
from pullcall.plan.durations import parse_range

#: The time of day that a cook can tell a site: nobody cooks before or after.
_YEARS = (2020, 2100)


def _printable(text: str) -> str:
    """Printable, so that it can be shown, and read back from the log."""
    if not text.isprintable():
        raise ValueError("use letters, digits and signs that can be seen")
    return text


def _channel(text: str) -> str:
    if not is_channel(text):
        raise ValueError("this is not a probe's channel: choose one from the list of probes")
    return text


#: Numbers as they are: true is no temperature, and no text is.
_FINITE = {"allow_inf_nan": False, "strict": True}
Name = Annotated[str, StringConstraints(min_length=1, max_length=40), AfterValidator(_printable)]
Channel = Annotated[str, Field(max_length=80), AfterValidator(_channel)]
Celsius = Annotated[float, Field(**_FINITE, description="degrees Celsius")]


class Body(BaseModel):
    """What a request carries; what it must not carry is an error."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class MarkBody(Body):
    """Something the cook did. ``steak`` null means all steaks, or the grill."""

    mark: MarkKind
    steak: Name | None = None
    ago_s: Annotated[float, Field(ge=0, le=3600, description="seconds ago", **_FINITE)] = 0.0


class SpotBody(Body):
    """A hand-held check of a steak's centre; ``steak`` null: an infrared check of the grate."""

    steak: Name | None
    celsius: Celsius


class AcknowledgementBody(Body):
    """An answer to a call; ``by`` says who, where the site does not know (see pairing)."""

    call: Annotated[str, Field(min_length=1, max_length=20)]
    by: Name = "phone"


class ShelvingBody(Body):
    """An alarm put aside for a while; ``by`` says who."""

    call: Annotated[str, Field(min_length=1, max_length=20)]
    by: Name = "phone"
    for_s: Annotated[float, Field(gt=0, **_FINITE, description="seconds, up to 300")] = 120.0


class AnswerBody(Body):
    """An answer to a proposed mark: it is so, or it is not."""

    proposal: Annotated[str, Field(min_length=1, max_length=120)]
    is_so: StrictBool


class PhoneBody(Body):
    """A page that is here; ``armed`` says whether it can sound calls."""

    phone: Annotated[str, Field(pattern="^[0-9a-zA-Z-]{4,40}$")]
    armed: StrictBool


class ReceiptBody(Body):
    """A page sounded a call."""

    phone: Annotated[str, Field(pattern="^[0-9a-zA-Z-]{4,40}$")]
    call: Annotated[str, Field(min_length=1, max_length=20)]


class SteakBody(Body):
    """Settings of a steak to change; those left out stay."""

    pull_c: Celsius | None = None
    target_c: Celsius | None = None
    thickness_mm: Annotated[float, Field(**_FINITE)] | None = None
    start_c: Celsius | None = None
    channel: Annotated[str, Field(max_length=80)] | None = None
    pull_by: PullBy | None = None
    shift_c: Celsius | None = None
    look: Annotated[str, Field(max_length=200)] | None = None


Duration = Annotated[
    Range,
    BeforeValidator(lambda text: parse_range(str(text))),
    WithJsonSchema({"type": "string", "examples": ["7-10 min", "90 s"]}),
]


class CookSettingsBody(Body):
    """Settings of the running cook to change; those left out stay.

    ``window`` is local wall time such as "14:00-14:30", null for none; ``durations`` of null go
    back to the default; ``wall`` is the time of day by a clock that the cook trusts.
    """

    rest_on: Annotated[str, Field(max_length=20)] | None = None
    carry_over: CarryOver | None = None
    window: Annotated[str, Field(max_length=40)] | None = None
    aim_share: Annotated[float, Field(**_FINITE)] | None = None
    offset_s: Annotated[float, Field(**_FINITE)] | None = None
    durations: dict[Annotated[str, Field(max_length=20)], Duration | None] = {}
    grate_channel: Annotated[str, Field(max_length=80)] | None = None
    fire_floor_c: Celsius | None = None
    fire_ceiling_c: Celsius | None = None
    wall: AwareDatetime | None = None

    @field_validator("wall")
    @classmethod
    def _plausible(cls, wall: datetime | None) -> datetime | None:
        if wall is not None and not _YEARS[0] <= wall.year < _YEARS[1]:
            raise ValueError("this is not the time of day of a cook")
        return wall

    @field_validator("window")
    @classmethod
    def _not_empty(cls, window: str | None) -> str | None:
        if window == "":
            raise ValueError('write a window such as "14:00-14:30", or null for none')
        return window


class NewSteak(Body):
    """A steak of a new cook."""

    steak: Name
    thickness_mm: Annotated[float, Field(ge=5, le=120, **_FINITE)] = 32.0
    start_c: Annotated[float, Field(ge=-30, le=40, **_FINITE)] = 5.0
    pull_c: Annotated[float, Field(ge=30, le=90, **_FINITE)] = 53.9
    target_c: Annotated[float, Field(ge=30, le=95, **_FINITE)] | None = None
    channel: Channel | None = None

    def settings(self) -> SteakSettings:
        """As the core knows it."""
        return SteakSettings(**self.model_dump())


class CookBody(Body):
    """A new cook; without steaks it takes over the settings of the last."""

    steaks: Annotated[list[NewSteak], Field(min_length=1, max_length=2)] | None = None

    @field_validator("steaks")
    @classmethod
    def _names_differ(cls, steaks: list[NewSteak] | None) -> list[NewSteak] | None:
        if steaks and len({s.steak for s in steaks}) != len(steaks):
            raise ValueError("give each steak a name of its own")
        return steaks


class MarkAnswer(BaseModel):
    """A mark as logged; times are seconds since the cook's zero."""

    id: str
    t: float
    at: float | None
    steak: str | None
    mark: MarkKind


class SpotAnswer(BaseModel):
    """A spot as logged."""

    id: str
    t: float
    steak: str | None
    celsius: float


class AcknowledgementAnswer(BaseModel):
    """An acknowledgement as logged."""

    t: float
    call: str
    by: str


class ShelvingAnswer(BaseModel):
    """A shelving as logged."""

    t: float
    call: str
    by: str
    for_s: float


class NewCookAnswer(BaseModel):
    """The cook that has begun."""

    cook: str


class ProbesAnswer(BaseModel):
    """Every probe heard, and the adapter (null where there is none)."""

    probes: list[dict[str, Any]]
    adapter: dict[str, Any] | None


class Problem(BaseModel):
    """RFC 9457 problem details."""

    type: str
    title: str
    status: int
    detail: str

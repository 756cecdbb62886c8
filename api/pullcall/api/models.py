"""What requests carry and answers look like; pydantic lives only here and in the settings."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, field_validator

from pullcall.events import CarryOver, MarkKind, SteakSettings

_FINITE = {"allow_inf_nan": False}
#: Printable, so that it can be shown and logged.
Name = Annotated[
    str,
    StringConstraints(min_length=1, max_length=40, pattern=r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029]+$"),
]
Celsius = Annotated[float, Field(**_FINITE, description="degrees Celsius")]


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class MarkBody(_Body):
    """Something the cook did. ``steak`` null means all steaks, or the grill for the lid."""

    mark: MarkKind
    steak: Name | None = None
    ago_s: Annotated[float, Field(ge=0, le=3600, description="seconds ago")] = 0.0


class SpotBody(_Body):
    """A hand-held check of a steak's centre."""

    steak: Name
    celsius: Celsius


class AcknowledgementBody(_Body):
    """An answer to a call; ``by`` says who."""

    call: Annotated[str, Field(min_length=1, max_length=20)]
    by: Name = "phone"


class SteakBody(_Body):
    """Settings of a steak to change; those left out stay."""

    pull_c: Celsius | None = None
    target_c: Celsius | None = None
    thickness_mm: Annotated[float, Field(**_FINITE)] | None = None
    start_c: Celsius | None = None
    channel: Annotated[str, Field(max_length=80)] | None = None


class CookSettingsBody(_Body):
    """Settings of the running cook to change; those left out stay."""

    rest_on: Annotated[str, Field(max_length=20)] | None = None
    carry_over: CarryOver | None = None


class NewSteak(_Body):
    """A steak of a new cook."""

    steak: Name
    thickness_mm: Annotated[float, Field(ge=5, le=120)] = 32.0
    start_c: Annotated[float, Field(ge=-30, le=40)] = 5.0
    pull_c: Annotated[float, Field(ge=30, le=90)] = 53.9
    target_c: Annotated[float, Field(ge=30, le=95)] | None = None
    channel: Annotated[str, Field(max_length=80)] | None = None

    def settings(self) -> SteakSettings:
        """As the core knows it."""
        return SteakSettings(**self.model_dump())


class CookBody(_Body):
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
    steak: str
    celsius: float


class AcknowledgementAnswer(BaseModel):
    """An acknowledgement as logged."""

    t: float
    call: str
    by: str


class CookAnswer(BaseModel):
    """A logged cook."""

    cook: str
    started: str
    ended: str | None
    steaks: list[str]


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
